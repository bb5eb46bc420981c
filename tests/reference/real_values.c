/*
 * Definitions against real recordings by others: a signal at the wrong place, or with
 * the wrong scale, contradicts what the origin pages state, physics, or another message
 * of the same machine that says the same thing in other bytes.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "drawbar/decoder.h"
#include "drawbar/reading.h"
#include "support/real.h"

#define DRIVE "SystemsCyber__J1939_Attack_Datasets/normal.log.gz"
#define SLICE "SystemsCyber__CyberTruckResources/candump.log"
#define STANDING "SystemsCyber__CyberTruckResources/candump_on_a_truck.log"
#define BENCH "SystemsCyber__CyberTruckResources/candump-2021-10-14_234124.log.gz"
#define TRACTOR "TractorHacking__CAN-data/highRPM1.log.gz"
#define GEARS "TractorHacking__CAN-data/transmision123inGear20Seconds.log.gz"
#define NO_START "TractorHacking__CAN-data/noStartInGear3.log"
#define BOAT "AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz"
#define MOORED "aldas__go-nmea-client/candump-2021-05-12_091355.log"

/* A signal to look for, and what came of it. */
struct wish {
    uint32_t pgn;
    uint8_t address;
    char signal[48];
    unsigned messages, valid;
    double first, last, low, high, sum; /* of valid values */
};

#define OF(group, sender, name) {.pgn = group, .address = sender, .signal = name}

struct wishes {
    struct wish *items;
    size_t count;
};

static const struct dbr_signal *signal_named(const struct dbr_message *message, const char *name)
{
    for (size_t i = 0; i < message->signal_count; i++)
        if (strcmp(message->signals[i].name, name) == 0)
            return &message->signals[i];
    cr_assert_fail("PGN %u has no signal \"%s\"", message->pgn, name);
    return NULL;
}

static void note(struct wish *w, const struct dbr_value *value)
{
    w->messages++;
    if (value->status != DBR_VALUE_VALID)
        return;
    if (w->valid++ == 0)
        w->first = w->low = w->high = value->number;
    w->last = value->number;
    w->sum += value->number;
    w->low = fmin(w->low, value->number);
    w->high = fmax(w->high, value->number);
}

static void seen_message(void *context, const struct dbr_seen *seen)
{
    struct wishes *wishes = context;

    if (seen->kind != DBR_SEEN_MESSAGE || !seen->message || !seen->data)
        return;
    for (size_t i = 0; i < wishes->count; i++) {
        struct wish *w = &wishes->items[i];
        if (w->pgn != seen->id.pgn || w->address != seen->id.source)
            continue;
        struct dbr_value value = dbr_signal_decode(signal_named(seen->message, w->signal),
                                                   seen->data, seen->length);
        note(w, &value);
    }
}

/* One pass over a recording for all wishes. */
static void fulfil(const char *name, struct wish *items, size_t count)
{
    static struct dbr_batch batch;
    struct wishes wishes = {items, count};
    struct dbr_error error = {0};
    struct dbr_recording *recording;
    char path[1024];

    real_path(path, sizeof path, name);
    const char *paths[] = {path};
    struct dbr_definitions *definitions = dbr_definitions_new(&error);
    struct dbr_decoder *decoder = dbr_decoder_new(definitions, seen_message, &wishes, &error);
    cr_assert(definitions && decoder, "%s", error.text);
    cr_assert_eq(dbr_recording_open(&recording, paths, 1, NULL, &error), 0, "%s", error.text);
    batch.capacity = DBR_BATCH_FRAMES;
    while (dbr_recording_next(recording, &batch, &error) > 0)
        for (size_t i = 0; i < batch.count; i++)
            dbr_decoder_frame(decoder, &batch.frames[i]);
    dbr_recording_close(recording);
    dbr_decoder_free(decoder);
    dbr_definitions_free(definitions);
    for (size_t i = 0; i < count; i++)
        cr_assert_gt(items[i].valid, 0, "%s: no valid \"%s\" of PGN %u from %u in %u messages", name,
                     items[i].signal, items[i].pgn, items[i].address, items[i].messages);
}

#define FULFIL(name, wishes) fulfil(name, wishes, sizeof wishes / sizeof wishes[0])

static double mean(const struct wish *w)
{
    return w->sum / w->valid;
}

static void expect_within(const struct wish *w, double low, double high)
{
    cr_expect(w->low >= low && w->high <= high, "\"%s\" goes from %g to %g, not within %g to %g",
              w->signal, w->low, w->high, low, high);
}

static void expect_near(const struct wish *a, const struct wish *b, double most)
{
    cr_expect(fabs(mean(a) - mean(b)) <= most, "\"%s\" is %g, \"%s\" is %g", a->signal, mean(a),
              b->signal, mean(b));
}

/* Stated by the origin pages of the recordings. */
Test(reference_real_values, speeds_as_stated)
{
    struct wish slice[] = {OF(65265, 0, "Wheel-based vehicle speed")};
    struct wish drive[] = {OF(65265, 0, "Wheel-based vehicle speed")};
    struct wish tractor[] = {OF(61444, 0, "Engine speed"), OF(65265, 71, "Wheel-based vehicle speed")};
    struct wish gears[] = {OF(61444, 0, "Engine speed")};
    struct wish no_start[] = {OF(61444, 0, "Engine speed")};
    struct wish boat[] = {OF(129026, 3, "Speed over ground")};

    FULFIL(SLICE, slice);
    expect_within(&slice[0], 20.2105, 20.5785);
    FULFIL(DRIVE, drive);
    cr_expect_float_eq(drive[0].first, 23.203, 0.001);
    cr_expect_float_eq(drive[0].high, 54.906, 0.001);
    FULFIL(TRACTOR, tractor);
    cr_expect_float_eq(tractor[0].high, 1259.5, 1e-9);
    cr_expect_eq(tractor[1].high, 0);
    FULFIL(GEARS, gears);
    cr_expect_float_eq(gears[0].high, 1019, 0.5);
    FULFIL(NO_START, no_start);
    cr_expect_eq(no_start[0].high, 0);
    FULFIL(BOAT, boat);
    cr_expect_leq(boat[0].high, 0.02 + 1e-9);
}

/* Stated too: the check-engine lamp was on, with one code (trouble_codes.c has the codes). */
Test(reference_real_values, lamp_as_stated)
{
    struct wish w[] = {OF(65226, 0, "Amber warning lamp")};

    FULFIL("TractorHacking__CAN-data/LeftSensorUnplugged-CheckEngine-2of3.log", w);
    cr_expect_eq(w[0].low, 1);
}

/* The same quantity in other bytes and another scale, by the same truck. */
Test(reference_real_values, a_truck_does_not_contradict_itself)
{
    struct wish w[] = {
        OF(65265, 0, "Wheel-based vehicle speed"), OF(65215, 11, "Front axle speed"),
        OF(65248, 0, "Total vehicle distance"),    OF(65217, 0, "Total vehicle distance, fine"),
        OF(65274, 49, "Brake primary pressure"),   OF(65198, 49, "Service brake circuit 1 air pressure"),
        OF(61442, 3, "Source address of controlling device"),
        OF(61440, 41, "Source address of controlling device"),
        OF(65266, 0, "Engine fuel rate"),          OF(65266, 0, "Instantaneous fuel economy"),
        OF(61454, 0, "Intake NOx"),                OF(61455, 0, "Outlet NOx"),
        OF(61452, 3, "Torque converter ratio"),    OF(61445, 3, "Actual gear ratio"),
        OF(61442, 3, "Transmission output shaft speed"),
        OF(61442, 3, "Transmission input shaft speed"),
    };

    FULFIL(DRIVE, w);
    expect_near(&w[0], &w[1], 0.5);  /* km/h */
    expect_near(&w[2], &w[3], 0.25); /* km, two steps of the coarse one */
    expect_near(&w[4], &w[5], 16);   /* kPa: tanks of one circuit, two steps */
    cr_expect(w[6].low >= 3 && w[6].high <= 3, "it names its sender");
    cr_expect(w[7].low >= 41 && w[7].high <= 41);
    /* km/L * L/h is the road speed, of about the same moment */
    cr_expect_float_eq(w[9].first * w[8].first, w[0].first, 0.05 * w[0].first);
    cr_expect_gt(mean(&w[10]), mean(&w[11]), "the catalyst takes nitrogen oxides away");
    expect_within(&w[12], 0.9, 2.5);
    /* input = output * ratio */
    cr_expect_float_eq(w[15].last / w[14].last, w[13].last, 0.05);
}

Test(reference_real_values, values_of_a_truck_on_the_road)
{
    struct wish w[] = {
        OF(65262, 0, "Engine coolant temperature"),    OF(65272, 3, "Transmission oil temperature"),
        OF(65263, 0, "Engine oil pressure"),           OF(65263, 0, "Crankcase pressure"),
        OF(65263, 0, "Engine coolant level"),          OF(65269, 0, "Barometric pressure"),
        OF(65269, 0, "Ambient air temperature"),       OF(65270, 0, "Intake manifold 1 temperature"),
        OF(65271, 0, "Battery potential / power input 1"), OF(65276, 49, "Fuel level 1"),
        OF(61443, 0, "Accelerator pedal position 1"),  OF(61443, 0, "Engine load at current speed"),
        OF(65243, 0, "Injector metering rail 1 pressure"), OF(65245, 0, "Turbocharger 1 speed"),
        OF(65188, 0, "Engine ECU temperature"),        OF(65110, 0, "Exhaust fluid tank level"),
        OF(65110, 0, "Exhaust fluid tank temperature"), OF(64948, 0, "Exhaust gas temperature 1"),
        OF(64947, 0, "Particulate filter outlet temperature"),
        OF(64914, 0, "Engine operating state"),        OF(65261, 0, "Maximum vehicle speed limit"),
        OF(65264, 0, "PTO set speed"),                 OF(61450, 0, "Inlet air mass flow"),
    };
    /* What an engine at work, warm, on a road of this world can have. */
    static const double limits[][2] = {
        {60, 110},     {40, 130},     {100, 800},   {-5, 10},      {20, 100},  {60, 105},
        {-40, 50},     {-20, 100},    {12, 15},     {1, 100},      {0, 100},   {0, 125},
        {20, 250},     {0, 200000},   {0, 110},     {1, 100},      {-11, 70},  {100, 700},
        {100, 700},    {4, 4},        {80, 130},    {500, 2500},   {30, 3000}};

    FULFIL(DRIVE, w);
    for (size_t i = 0; i < sizeof w / sizeof w[0]; i++)
        expect_within(&w[i], limits[i][0], limits[i][1]);
}

Test(reference_real_values, a_tractor_that_stands)
{
    struct wish w[] = {
        OF(65262, 0, "Engine coolant temperature"), OF(65129, 0, "Engine coolant temperature, fine"),
        OF(65270, 0, "Intake manifold 1 temperature"),
        OF(65129, 0, "Intake manifold 1 air temperature, fine"),
        OF(65253, 0, "Total engine hours"),         OF(65255, 6, "Total vehicle hours"),
        OF(65247, 0, "Engine's desired operating speed"), OF(65091, 71, "Rear PTO output shaft speed"),
        OF(65269, 0, "Engine air inlet temperature"), OF(65128, 71, "Hydraulic temperature"),
        OF(61446, 71, "Rear axle 1 differential lock"), OF(64991, 71, "Front wheel drive"),
        OF(65237, 0, "Alternator 1 status"),        OF(65271, 0, "Keyswitch battery potential"),
    };

    FULFIL(TRACTOR, w);
    expect_near(&w[0], &w[1], 2);    /* degrees */
    cr_expect_lt(fabs(w[2].first - w[3].first), 50);
    expect_near(&w[4], &w[5], 1);    /* hours: the key is on when the engine runs */
    cr_expect_float_eq(w[6].first, 1271, 1, "what it is asked for; it reached 1259.5");
    cr_expect_eq(w[7].high, 0);
    expect_within(&w[8], -40, 50);
    expect_within(&w[9], -40, 50);
    cr_expect_eq(w[10].high, 0);
    cr_expect_eq(w[11].high, 0);
    cr_expect_eq(w[12].first, 0, "the engine stands at the start");
    expect_within(&w[13], 8, 15); /* while the starter turns it is less than 11 */
}

/* The alternator charges while the engine turns, and not before. */
Test(reference_real_values, an_alternator_goes_with_its_engine)
{
    struct wish w[] = {OF(65237, 0, "Alternator 1 status"), OF(61444, 0, "Engine speed")};

    FULFIL(GEARS, w);
    cr_expect_eq(w[1].first, 0);
    cr_expect_eq(w[0].first, 0);
    cr_expect_gt(w[1].high, 1000);
    cr_expect_eq(w[0].high, 1);
}

Test(reference_real_values, engines_that_stand)
{
    struct wish standing[] = {OF(61444, 0, "Engine speed"), OF(64914, 0, "Engine operating state")};
    struct wish bench[] = {OF(61444, 0, "Engine speed"), OF(65266, 0, "Engine fuel rate")};

    FULFIL(STANDING, standing);
    cr_expect_eq(standing[0].high, 0);
    cr_expect_eq(standing[1].high, 0, "stopped");
    FULFIL(BENCH, bench);
    cr_expect_eq(bench[0].high, 0);
    cr_expect_eq(bench[1].high, 0);
}

/* Sent as a broadcast of several frames: the curve of a diesel engine. */
Test(reference_real_values, an_engine_configuration)
{
    static const char *const recordings[] = {TRACTOR, DRIVE};

    for (size_t i = 0; i < sizeof recordings / sizeof recordings[0]; i++) {
        struct wish w[] = {OF(65251, 0, "Engine speed at idle, point 1"),
                           OF(65251, 0, "Engine speed at point 2"),
                           OF(65251, 0, "Engine speed at high idle, point 6"),
                           OF(65251, 0, "Engine torque at point 3"),
                           OF(65251, 0, "Reference engine torque")};
        FULFIL(recordings[i], w);
        expect_within(&w[0], 500, 1000);
        cr_expect_gt(w[1].low, w[0].high, "%s: %g", recordings[i], w[1].low);
        expect_within(&w[2], 1800, 3500);
        expect_within(&w[3], 0, 125);
        expect_within(&w[4], 100, 4000);
    }
}

/* One sensor, told in several groups of NMEA 2000. */
Test(reference_real_values, a_boat_does_not_contradict_itself)
{
    struct wish w[] = {
        OF(127250, 3, "Heading"),            OF(127257, 3, "Yaw"),
        OF(127250, 3, "Variation"),          OF(127258, 3, "Variation"),
        OF(129025, 3, "Latitude"),           OF(129029, 3, "GNSS latitude"),
        OF(129025, 3, "Longitude"),          OF(129029, 3, "GNSS longitude"),
        OF(129539, 3, "Horizontal dilution of precision"),
        OF(129029, 3, "Horizontal dilution of precision"),
        OF(126992, 3, "Date, days since 1970-01-01"),
        OF(129029, 3, "Date, days since 1970-01-01"),
        OF(126992, 3, "Time of day"),        OF(129029, 3, "Time of day"),
        OF(130312, 3, "Actual temperature"), OF(130316, 3, "Actual temperature"),
        OF(130310, 3, "Outside temperature"), OF(130316, 3, "Actual temperature"),
        OF(130310, 3, "Atmospheric pressure"), OF(130314, 3, "Pressure"),
    };
    static const double most[] = {1e-9, 1e-9, 1e-5, 1e-5, 0.3, 1e-9, 2, 0.01, 0.02, 100};

    FULFIL(BOAT, w);
    for (size_t i = 0; i < sizeof most / sizeof most[0]; i++)
        expect_near(&w[2 * i], &w[2 * i + 1], most[i]);
    /* date -u -d 2025-10-16 +%s / 86400 */
    cr_expect_eq(w[10].low, 20377);
}

Test(reference_real_values, a_boat_at_its_place)
{
    struct wish w[] = {
        OF(127508, 72, "Battery voltage"),   OF(127508, 15, "Battery temperature"),
        OF(128267, 35, "Depth below the transducer"), OF(127251, 3, "Rate of turn"),
        OF(127252, 3, "Heave"),              OF(127257, 3, "Pitch"),
        OF(127257, 3, "Roll"),               OF(127245, 28, "Rudder position"),
        OF(128275, 35, "Distance log"),      OF(128275, 35, "Trip log"),
        OF(130577, 3, "Speed over ground, direction data"), OF(129539, 3, "Actual mode"),
        OF(129029, 3, "Method"),             OF(129029, 3, "Number of satellites"),
        OF(129540, 3, "Satellites in view"), OF(130306, 25, "Wind speed"),
        OF(130306, 25, "Wind reference"),    OF(126993, 3, "Interval"),
    };
    static const double limits[][2] = {
        {10, 60},      {270, 330},  {0.5, 50},  {-0.3, 0.3}, {-1, 1},  {-0.3, 0.3},
        {-0.3, 0.3},   {-0.8, 0.8}, {200000, 203000}, {0, 203000}, {0, 0.03}, {2, 2},
        {1, 3},        {4, 40},     {4, 40},    {0, 20},     {2, 2},   {60, 60}};

    FULFIL(BOAT, w);
    for (size_t i = 0; i < sizeof w / sizeof w[0]; i++)
        expect_within(&w[i], limits[i][0], limits[i][1]);
}

/* Recorded on 12 May 2021, as the name of the file says. */
Test(reference_real_values, a_moored_boat)
{
    struct wish w[] = {
        OF(129025, 127, "Latitude"),  OF(129029, 127, "GNSS latitude"),
        OF(129025, 127, "Longitude"), OF(129029, 127, "GNSS longitude"),
        OF(126992, 127, "Date, days since 1970-01-01"), OF(126992, 127, "Time of day"),
        OF(129029, 127, "Time of day"),
    };

    FULFIL(MOORED, w);
    expect_near(&w[0], &w[1], 1e-6);
    expect_near(&w[2], &w[3], 1e-6);
    cr_expect_eq(w[4].low, 18759, "2021-05-12");
    expect_near(&w[5], &w[6], 1);
}
