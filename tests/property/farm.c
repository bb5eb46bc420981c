/*
 * farm.c - drives and faults at random over the invented farm: sound machines must be
 * found sound, and one fault must come out as itself: its code, its ECU, its moment.
 *
 * This shows that the rules do not depend on the few demo recordings. It does not show
 * that they fit real machines: the farm is our own, too (tests/reference for the rest).
 * A failure names its seed; the same seed gives the same drive again.
 */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "farm/simulation.h"
#include "support/story.h"

#define STEPS 12u
#define EACH 32u /* drives of each kind of fault */
#define SOUND_EACH 55u

/* Silence counts from the last frame, and a controller's status comes every 2 s. */
#define SLOWEST_S 2.5

/* So many drives, or a share of them: with PROPERTY_SHARE=8 in the environment an eighth. */
static uint64_t drives(uint64_t all)
{
    const char *share = getenv("PROPERTY_SHARE");
    unsigned long parts = share ? strtoul(share, NULL, 10) : 1;

    return parts > 1 && parts < all ? all / parts : parts > 1 ? 1 : all;
}

/* A drive, and when it is in steady motion. */
struct drive {
    struct farm_drive_step steps[STEPS];
    size_t count;
    int32_t moves_ms, stops_ms;  /* from the pull-away to the last braking */
    int32_t turns_ms, lowers_ms; /* the implement is raised meanwhile */
    int32_t duration_ms;
};

static double between(struct farm_random *r, double low, double high)
{
    return low + (high - low) * farm_random_unit(r);
}

static int32_t step(struct drive *d, int32_t at, double hold_s, struct farm_drive_step what)
{
    what.at_ms = at;
    d->steps[d->count++] = what;
    return at + (int32_t)(hold_s * 1000);
}

static void one_side(struct drive *d, struct farm_random *r, int32_t *at, double hold_s)
{
    double speed = between(r, 1.6, 4.6);
    double lowered = between(r, 5.0, 22.0);

    *at = step(d, *at, 1.6,
               (struct farm_drive_step){.speed_mps = speed, .hitch_percent = lowered, .pto = true});
    *at = step(d, *at, hold_s,
               (struct farm_drive_step){.speed_mps = speed,
                                        .hitch_percent = lowered,
                                        .pto = true,
                                        .in_field = true});
}

/* Stands, works along one side, turns with the implement raised or not, works on, stops. */
static struct drive drive_at_random(struct farm_random *r)
{
    struct drive d = {0};
    double turning = between(r, 1.4, 2.6), raised = between(r, 50.0, 90.0);
    int32_t at = step(&d, 0, between(r, 8.0, 10.0), (struct farm_drive_step){.hitch_percent = raised});

    at = step(&d, at, between(r, 1.0, 3.0),
              (struct farm_drive_step){.hitch_percent = raised, .pto = true});
    d.moves_ms = at;
    one_side(&d, r, &at, between(r, 12.0, 26.0));
    d.turns_ms = at;
    at = step(&d, at, between(r, 4.0, 7.0),
              (struct farm_drive_step){.speed_mps = turning,
                                       .hitch_percent = raised,
                                       .pto = true,
                                       .turn_radius_m = between(r, 8.0, 14.0)});
    d.lowers_ms = at;
    one_side(&d, r, &at, between(r, 18.0, 26.0));
    d.stops_ms = at;
    at = step(&d, at, between(r, 3.0, 5.0), (struct farm_drive_step){.hitch_percent = raised});
    d.duration_ms = at;
    return d;
}

static struct farm_scenario scenario_on(const struct drive *d, struct farm_random *r, uint64_t seed)
{
    return (struct farm_scenario){
        .file = "property.log",
        .seed = seed,
        .duration_ms = d->duration_ms,
        .drive = d->steps,
        .drive_count = d->count,
        .rate_kg_per_m2 = {between(r, 0.010, 0.030), between(r, 0.004, 0.012)},
    };
}

static struct outcome *judge(const struct farm_scenario *scenario)
{
    struct farm_recording recording = {0};
    struct story *story = story_new();

    cr_assert(farm_simulate(scenario, &recording));
    for (size_t i = 0; i < recording.count; i++) {
        const struct farm_frame *f = &recording.items[i].frame;
        struct dbr_frame frame = {.at_ns = recording.items[i].at_ns,
                                  .id = f->id,
                                  .length = f->length,
                                  .flags = f->error ? DBR_FRAME_ERROR : DBR_FRAME_EXTENDED};
        for (unsigned b = 0; b < f->length; b++)
            frame.data[b] = f->data[b];
        story_raw(story, &frame);
    }
    farm_recording_release(&recording);
    return story_tell(story);
}

static void expect_sound(uint64_t first_seed)
{
    for (uint64_t seed = first_seed; seed < first_seed + drives(SOUND_EACH); seed++) {
        struct farm_random r = farm_random_start(seed, 1000);
        struct drive d = drive_at_random(&r);
        struct farm_scenario s = scenario_on(&d, &r, seed);
        struct outcome *o = judge(&s);
        cr_expect(outcome_clean(o), "seed %u: sound, but %s", (unsigned)seed, outcome_codes(o));
        outcome_free(o);
    }
}

Test(property_farm, sound_machines_are_sound_1) { expect_sound(1); }
Test(property_farm, sound_machines_are_sound_2) { expect_sound(1001); }
Test(property_farm, sound_machines_are_sound_3) { expect_sound(2001); }
Test(property_farm, sound_machines_are_sound_4) { expect_sound(3001); }

/* What must be found: one root cause of this code, with this ECU (-1: none). */
struct expected {
    const char *code;
    int address;
};

enum when {
    FOR_A_WHILE,  /* from a moment in the drive; every other one to the end, the rest 9 s to 12 s */
    SOME_EVER,    /* the same, but in a third of the drives all along */
    TO_THE_END,   /* for what needs the changes of a drive to be seen */
    EVER          /* for what is judged over the whole recording */
};

static void place(struct farm_fault *fault, const struct drive *d, struct farm_random *r,
                  uint64_t seed, enum when when)
{
    /* Three seconds to pull away, and twelve more to be seen in. */
    int32_t latest = d->stops_ms - d->moves_ms - (when == TO_THE_END ? 22000 : 15000);

    fault->start_ms = d->moves_ms + 3000 + (int32_t)farm_random_below(r, latest);
    fault->end_ms = fault->start_ms + 9000 + (int32_t)farm_random_below(r, 3000);
    if (seed % 2 == 0 || when >= TO_THE_END)
        fault->end_ms = FARM_FOREVER;
    if (when == EVER || (when == SOME_EVER && seed % 3 == 0))
        fault->start_ms = 0;
}

/* When it must be seen at the latest. An axle may well stand while the implement is raised. */
static double seen_by_s(const struct farm_fault *fault, const struct drive *d)
{
    bool raised = fault->start_ms >= d->turns_ms - 6000 && fault->start_ms < d->lowers_ms;

    return 5.0 + (fault->kind == FARM_FAULT_READS_ZERO && raised ? d->lowers_ms
                                                                 : fault->start_ms) / 1000.0;
}

static void expect_root(uint64_t first_seed, struct farm_fault fault, struct expected expected,
                        enum when when)
{
    for (uint64_t seed = first_seed; seed < first_seed + drives(EACH); seed++) {
        struct farm_random r = farm_random_start(seed, 1000);
        struct drive d = drive_at_random(&r);
        struct farm_scenario s = scenario_on(&d, &r, seed);
        place(&fault, &d, &r, seed, when);
        s.faults[0] = fault;
        s.recorder_sends = fault.kind == FARM_FAULT_RECORDER_DISTURBED;
        struct outcome *o = judge(&s);
        const struct dbr_verdict *v = &o->diagnosis->verdict;
        const struct dbr_finding *f =
            v->root_cause_count == 1 ? &o->diagnosis->findings[v->root_causes[0]] : NULL;
        cr_expect(f && strcmp(f->code, expected.code) == 0 && f->address == expected.address,
                  "seed %u: fault from %.1f s to %.1f s: %u roots in %s", (unsigned)seed,
                  fault.start_ms / 1000.0, fault.end_ms / 1000.0, (unsigned)v->root_cause_count,
                  outcome_codes(o));
        if (f && fault.start_ms > 0)
            cr_expect((double)f->start_ns / 1e9 >= fault.start_ms / 1000.0 - SLOWEST_S &&
                          (double)f->start_ns / 1e9 <= seen_by_s(&fault, &d),
                      "seed %u: %s from %.1f s, fault from %.1f s", (unsigned)seed, expected.code,
                      (double)f->start_ns / 1e9, fault.start_ms / 1000.0);
        outcome_free(o);
    }
}

#define SENSOR(fault_kind, which) \
    (struct farm_fault) { .kind = fault_kind, .sensor = which }

Test(property_farm, axle_reads_zero)
{
    expect_root(10000, SENSOR(FARM_FAULT_READS_ZERO, FARM_SENSOR_AXLE),
                (struct expected){"speed-stuck-zero", 128}, SOME_EVER);
}

Test(property_farm, wheel_reads_zero)
{
    expect_root(11000, SENSOR(FARM_FAULT_READS_ZERO, FARM_SENSOR_WHEEL),
                (struct expected){"speed-stuck-zero", 240}, SOME_EVER);
}

Test(property_farm, radar_reads_zero)
{
    expect_root(12000, SENSOR(FARM_FAULT_READS_ZERO, FARM_SENSOR_RADAR),
                (struct expected){"speed-stuck-zero", 240}, SOME_EVER);
}

Test(property_farm, axle_has_no_value)
{
    expect_root(13000, SENSOR(FARM_FAULT_NOT_AVAILABLE, FARM_SENSOR_AXLE),
                (struct expected){"speed-lost", 128}, FOR_A_WHILE);
}

Test(property_farm, wheel_has_no_value)
{
    expect_root(14000, SENSOR(FARM_FAULT_NOT_AVAILABLE, FARM_SENSOR_WHEEL),
                (struct expected){"speed-not-available", 240}, FOR_A_WHILE);
}

Test(property_farm, axle_is_frozen)
{
    expect_root(15000, SENSOR(FARM_FAULT_FROZEN, FARM_SENSOR_AXLE),
                (struct expected){"speed-frozen", 128}, TO_THE_END);
}

Test(property_farm, gnss_is_frozen)
{
    expect_root(16000, SENSOR(FARM_FAULT_FROZEN, FARM_SENSOR_GNSS),
                (struct expected){"speed-frozen", 28}, TO_THE_END);
}

Test(property_farm, axle_reads_too_much)
{
    struct farm_fault fault = SENSOR(FARM_FAULT_SCALED, FARM_SENSOR_AXLE);
    fault.magnitude = 1.4;
    expect_root(17000, fault, (struct expected){"speed-disagrees", 128}, EVER);
}

Test(property_farm, wheel_reads_too_little)
{
    struct farm_fault fault = SENSOR(FARM_FAULT_SCALED, FARM_SENSOR_WHEEL);
    fault.magnitude = 0.6;
    expect_root(18000, fault, (struct expected){"speed-disagrees", 240}, EVER);
}

static void expect_stop(uint64_t seed, enum farm_unit unit, uint32_t pgn, int address)
{
    struct farm_fault fault = {.kind = FARM_FAULT_MESSAGE_STOPS, .unit = unit, .pgn = pgn};
    expect_root(seed, fault, (struct expected){"speed-lost", address}, FOR_A_WHILE);
}

Test(property_farm, wheel_speed_stops)
{
    expect_stop(20000, FARM_UNIT_TRACTOR, FARM_PGN_WHEEL_SPEED, 240);
}

Test(property_farm, ground_speed_stops)
{
    expect_stop(21000, FARM_UNIT_TRACTOR, FARM_PGN_GROUND_SPEED, 240);
}

Test(property_farm, gnss_speed_stops)
{
    expect_stop(22000, FARM_UNIT_GNSS, FARM_PGN_COURSE_SPEED, 28);
}


static void expect_silence(uint64_t seed, enum farm_unit unit, int address)
{
    struct farm_fault fault = {.kind = FARM_FAULT_POWER_LOST, .unit = unit};
    expect_root(seed, fault, (struct expected){"ecu-silent", address}, FOR_A_WHILE);
}

Test(property_farm, weigher_loses_power) { expect_silence(30000, FARM_UNIT_WEIGHER, 131); }
Test(property_farm, boom_loses_power) { expect_silence(31000, FARM_UNIT_LEFT_BOOM, 140); }
Test(property_farm, spreader_loses_power) { expect_silence(32000, FARM_UNIT_SPREADER, 128); }
Test(property_farm, controller_loses_power) { expect_silence(33000, FARM_UNIT_CONTROLLER, 247); }
Test(property_farm, gnss_loses_power) { expect_silence(34000, FARM_UNIT_GNSS, 28); }

Test(property_farm, a_unit_is_added)
{
    expect_root(40000, (struct farm_fault){.kind = FARM_FAULT_UNIT_ADDED},
                (struct expected){"address-conflict", 131}, FOR_A_WHILE);
}

Test(property_farm, the_recorder_is_disturbed)
{
    expect_root(41000, (struct farm_fault){.kind = FARM_FAULT_RECORDER_DISTURBED},
                (struct expected){"bus-off", -1}, FOR_A_WHILE);
}
