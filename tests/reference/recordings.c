/*
 * Real recordings by others: what their origin pages state must come out.
 *
 * They stay outside the repository, in ../shared/data or where DRAWBAR_DATA says;
 * without them these tests are skipped, and say so. Each name below is that of
 * the collection that a recording was published in.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/real.h"
#include "support/whole.h"

static void assert_clean(const struct whole *w)
{
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        cr_assert_eq(w->diagnosis->findings[i].severity, DBR_NOTE, "%s",
                     w->diagnosis->findings[i].title);
}

/* The trouble codes that the ECUs themselves report are there: tests/reference/trouble_codes.c. */
static void assert_clean_but_for_codes(const struct whole *w)
{
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        cr_assert(w->diagnosis->findings[i].severity == DBR_NOTE ||
                      strcmp(w->diagnosis->findings[i].code, "fault-code-active") == 0, "%s",
                  w->diagnosis->findings[i].title);
}

static const struct dbr_finding *find(const struct whole *w, const char *code, int address)
{
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        if (strcmp(w->diagnosis->findings[i].code, code) == 0 &&
            w->diagnosis->findings[i].address == address)
            return &w->diagnosis->findings[i];
    return NULL;
}

static const struct dbr_speed_source *source_of(const struct whole *w, uint8_t address,
                                                enum dbr_speed_kind kind)
{
    for (size_t i = 0; i < w->history->source_count; i++)
        if (w->history->sources[i].address == address && w->history->sources[i].kind == kind)
            return &w->history->sources[i];
    return NULL;
}

Test(reference_recordings, frames_and_durations_are_as_stated)
{
    static const struct {
        const char *name;
        uint64_t frames;
        double seconds; /* < 0: not stated */
        enum dbr_time_base base;
        const char *format;
    } rows[] = {
        {"AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz", 40000, 77.498,
         DBR_TIME_EPOCH, "candump-log"},
        {"SystemsCyber__CyberTruckResources/candump.log", 166, 0.249, DBR_TIME_EPOCH,
         "candump-log"},
        {"SystemsCyber__CyberTruckResources/candump_on_a_truck.log", 103, 0.432, DBR_TIME_EPOCH,
         "candump-log"},
        {"SystemsCyber__CyberTruckResources/candump-2021-10-14_234124.log.gz", 6278, 28.431,
         DBR_TIME_EPOCH, "candump-log"},
        {"SystemsCyber__CyberTruckResources/candump-RTSResourceExhaustion.log.gz", 58531, 123.007,
         DBR_TIME_EPOCH, "candump-log"},
        {"SystemsCyber__J1939_Attack_Datasets/normal.log.gz", 19957, 29.998, DBR_TIME_RELATIVE,
         "candump-console"},
        {"SystemsCyber__J1939_Attack_Datasets/memory_leak_attack.log", 2310, 10.073,
         DBR_TIME_EPOCH, "candump-log"},
        {"SystemsCyber__J1939_Attack_Datasets/Connection_Exhaustion_attack.txt.gz", 11537, 29.992,
         DBR_TIME_RELATIVE, "candump-console"},
        {"TractorHacking__CAN-data/highRPM1.log.gz", 7736, 29.610, DBR_TIME_RELATIVE,
         "candump-log"},
        {"TractorHacking__CAN-data/transmision123inGear20Seconds.log.gz", 13640, 43.792,
         DBR_TIME_RELATIVE, "candump-log"},
        {"TractorHacking__CAN-data/noStartInGear3.log", 3744, 14.473, DBR_TIME_RELATIVE,
         "candump-log"},
        {"TractorHacking__CAN-data/ignitionOffTurnLights.log", 41, 24.300, DBR_TIME_RELATIVE,
         "candump-log"},
        {"TractorHacking__CAN-data/LeftSensorUnplugged-CheckEngine-2of3.log", 1757, -1,
         DBR_TIME_RELATIVE, "candump-log"},
        {"TractorHacking__CAN-data/RunningControl.log", 1693, -1, DBR_TIME_RELATIVE,
         "candump-log"},
        {"aldas__go-nmea-client/candump-2021-05-12_091355.log", 292, 3.902, DBR_TIME_EPOCH,
         "candump-log"},
        {"aldas__go-nmea-client/candump_2021-05-25-1635_5s.log", 355, 0, DBR_TIME_NONE,
         "candump-console"},
        {"aldas__go-nmea-client/fast_packet_pgn129029.txt", 7, -1, DBR_TIME_EPOCH,
         "candump-log"},
        {"linux-can__mailing-list/2021-05-04_unplugged_acking_node.txt", 17, -1, DBR_TIME_EPOCH,
         "candump-console"},
        {"secdev__scapy/canfd.pcap", 4, -1, DBR_TIME_EPOCH, "pcap"},
        {"secdev__scapy/canopen_linktype227.pcap", 34, 341.818, DBR_TIME_EPOCH, "pcap"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct whole *w = whole_read_data(rows[i].name);
        const struct dbr_file_info *file = &w->info->files[0];
        cr_assert_eq(file->frames, rows[i].frames, "%s: %lu frames", rows[i].name, file->frames);
        cr_assert_eq(file->rejected, 0, "%s", rows[i].name);
        cr_assert_eq(file->records, rows[i].frames, "%s", rows[i].name);
        cr_assert_eq(w->info->time_base, rows[i].base, "%s", rows[i].name);
        cr_assert_str_eq(file->format, rows[i].format);
        /* none of these machines has an implement with process data: no chain is made up */
        cr_assert_eq(w->history->implement_count, 0, "%s", rows[i].name);
        double seconds = (double)w->info->last_ns / 1e9;
        if (rows[i].seconds >= 0)
            cr_assert_float_eq(seconds, rows[i].seconds, 0.0006, "%s: %f", rows[i].name, seconds);
        whole_free(w);
    }
}

Test(reference_recordings, a_normal_drive_of_a_truck_is_clean)
{
    struct whole *w = whole_read_data("SystemsCyber__J1939_Attack_Datasets/normal.log.gz");
    const struct dbr_speed_source *road = source_of(w, 0, DBR_SPEED_VEHICLE);
    const struct dbr_speed_source *second = source_of(w, 49, DBR_SPEED_VEHICLE);

    assert_clean_but_for_codes(w);
    cr_assert_not_null(road);
    cr_assert_eq(road->state, DBR_SPEED_STATE_VALID);
    cr_assert_float_eq(road->max_mps * 3.6, 54.906, 0.001);
    cr_assert_not_null(second);
    cr_assert_eq(second->state, DBR_SPEED_STATE_NOT_AVAILABLE);
    const struct dbr_finding *f = find(w, "speed-not-available", 49);
    cr_assert_not_null(f);
    cr_assert_eq(f->severity, DBR_NOTE);
    whole_free(w);
}

Test(reference_recordings, the_first_road_speed_of_that_drive)
{
    char path[1024];
    struct dbr_error error;
    struct dbr_definitions *definitions = dbr_definitions_new(&error);
    const struct dbr_message *speed = dbr_definitions_find(definitions, 65265, 0, NULL, NULL);
    /* Its first 65265 from address 0, as the recording has it; 23.203 km/h by its origin page. */
    struct whole *w = whole_read_data("SystemsCyber__J1939_Attack_Datasets/normal.log.gz");
    struct dbr_frame first;

    real_path(path, sizeof path, "SystemsCyber__J1939_Attack_Datasets/normal.log.gz");
    cr_assert(whole_first_frame(path, 0x18FEF100, &first));
    for (size_t i = 0; i < speed->signal_count; i++)
        if (speed->signals[i].role == DBR_ROLE_SPEED_VEHICLE) {
            struct dbr_value v = dbr_signal_decode(&speed->signals[i], first.data, first.length);
            cr_assert_float_eq(v.number, 23.203, 0.001);
        }
    dbr_definitions_free(definitions);
    whole_free(w);
}

Test(reference_recordings, the_utility_tractor_stands_still_without_fault)
{
    static const char *const names[] = {"TractorHacking__CAN-data/highRPM1.log.gz",
                                        "TractorHacking__CAN-data/transmision123inGear20Seconds.log.gz",
                                        "TractorHacking__CAN-data/noStartInGear3.log"};
    static const struct {
        uint8_t address;
        uint64_t name;
    } ecus[] = {{0, UINT64_C(0x200200000429F556)},
                {3, UINT64_C(0x200203000430744D)},
                {6, UINT64_C(0x20000E000430744D)},
                {23, UINT64_C(0x2002130004246E0C)},
                {71, UINT64_C(0x200234000430744D)}};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct whole *w = whole_read_data(names[i]);
        assert_clean_but_for_codes(w);
        cr_assert_eq(w->history->ecu_count, 5, "%s", names[i]);
        for (size_t k = 0; k < 5; k++) {
            const struct dbr_ecu *ecu = dbr_history_ecu(w->history, 0, ecus[k].address);
            cr_assert_not_null(ecu);
            cr_assert_eq(ecu->name_count, 1, "%s: %u", names[i], ecus[k].address);
            cr_assert_eq(ecu->names[0], ecus[k].name);
        }
        const struct dbr_speed_source *ground = source_of(w, 71, DBR_SPEED_GROUND);
        cr_assert_not_null(ground);
        cr_assert_eq(ground->state, DBR_SPEED_STATE_NOT_AVAILABLE);
        cr_assert_float_eq(source_of(w, 71, DBR_SPEED_VEHICLE)->max_mps, 0, 1e-9);
        whole_free(w);
    }
}

Test(reference_recordings, one_ecu_awake_with_the_ignition_off)
{
    struct whole *w = whole_read_data("TractorHacking__CAN-data/ignitionOffTurnLights.log");

    assert_clean(w);
    cr_assert_eq(w->history->ecu_count, 1);
    cr_assert_eq(w->history->ecus[0].address, 23);
    cr_assert_eq(w->history->ecus[0].claims, 2);
    whole_free(w);
}

Test(reference_recordings, the_boat_has_one_node_that_never_claims)
{
    struct whole *w =
        whole_read_data("AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz");
    const struct dbr_finding *f = find(w, "address-unclaimed", 69);
    size_t warnings = 0, named = 0;

    cr_assert_not_null(f);
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        warnings += w->diagnosis->findings[i].severity > DBR_NOTE;
    cr_assert_eq(warnings, 1, "stamps in steps of 15 ms are no gaps, claims again no restarts");
    cr_assert_eq(w->history->ecu_count, 27);
    for (size_t i = 0; i < w->history->ecu_count; i++)
        named += w->history->ecus[i].name_count == 1;
    cr_assert_eq(named, 15);
    cr_assert_eq(dbr_history_ecu(w->history, 0, 69)->frames, 286);
    const struct dbr_speed_source *gnss = source_of(w, 3, DBR_SPEED_GNSS);
    cr_assert_not_null(gnss);
    cr_assert_eq(gnss->frames, 310);
    cr_assert_leq(gnss->max_mps, 0.0201);
    cr_assert_not(gnss->moved);
    whole_free(w);
}

Test(reference_recordings, a_moored_boat_goes_nowhere)
{
    struct whole *w = whole_read_data("aldas__go-nmea-client/candump-2021-05-12_091355.log");

    assert_clean(w);
    const struct dbr_speed_source *gnss = source_of(w, 127, DBR_SPEED_GNSS);
    cr_assert_not_null(gnss);
    cr_assert_float_eq(gnss->max_mps, 0, 1e-9);
    whole_free(w);
}

Test(reference_recordings, five_forms_of_one_bus_give_frames_alike)
{
    /* The same two senders recorded five times; each form states its time base and duration. */
    static const struct {
        const char *name;
        uint64_t frames;
        enum dbr_time_base base;
        double seconds;
    } rows[] = {
        {"aldas__go-nmea-client/candump_L.log", 7, DBR_TIME_EPOCH, 1.028986},
        {"aldas__go-nmea-client/candump_t-a.log", 7, DBR_TIME_EPOCH, 0.770000},
        {"aldas__go-nmea-client/candump_t-z.log", 7, DBR_TIME_RELATIVE, 0.759747},
        /* 0.009871 + 0.250126 + 0.019876 + 0.730126 + 0.009875 */
        {"aldas__go-nmea-client/candump_t-d.log", 6, DBR_TIME_RELATIVE, 1.019874},
        {"aldas__go-nmea-client/candump_default.log", 7, DBR_TIME_NONE, 0},
    };
    char path[1024];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct whole *w = whole_read_data(rows[i].name);
        struct dbr_frame frame;
        cr_assert_eq(w->info->frames, rows[i].frames);
        cr_assert_eq(w->info->time_base, rows[i].base, "%s", rows[i].name);
        cr_assert_float_eq((double)w->info->last_ns / 1e9, rows[i].seconds, 1e-6, "%s",
                           rows[i].name);
        cr_assert_eq(w->history->ecu_count, 2);
        cr_assert_not_null(dbr_history_ecu(w->history, 0, 22));
        cr_assert_not_null(dbr_history_ecu(w->history, 0, 23));
        /* A frame that all five hold, byte for byte. */
        real_path(path, sizeof path, rows[i].name);
        cr_assert(whole_first_frame(path, 0x15FD0617, &frame), "%s", rows[i].name);
        cr_assert_arr_eq(frame.data, ((const uint8_t[]){0x01, 0x9D, 0x76, 0xFF, 0xFF, 0xFF, 0xFF,
                                                        0xFF}), 8, "%s", rows[i].name);
        cr_assert_eq(frame.length, 8);
        whole_free(w);
    }
}

Test(reference_recordings, the_mail_with_seven_error_frames)
{
    struct whole *w = whole_read_data("linux-can__mailing-list/2021-05-04_unplugged_acking_node.txt");
    const struct dbr_bus *bus = &w->history->buses[0];
    uint64_t kinds = 0;

    cr_assert_eq(bus->error_frames, 7);
    cr_assert_eq(bus->frames, 17);
    for (size_t i = 0; i < bus->errors.count; i++)
        kinds |= bus->errors.items[i].mask;
    /* The kernel's own reading: frame-format-error six times, once nothing stated. */
    cr_assert_eq(kinds, 1u << DBR_ERROR_KIND_FORM | 1u << DBR_ERROR_KIND_UNSPECIFIED);
    cr_assert_null(find(w, "bus-no-acknowledge", -1));
    cr_assert_null(find(w, "bus-error-burst", -1));
    cr_assert_null(find(w, "recording-no-error-frames", -1));
    cr_assert_not_null(find(w, "bus-foreign-frames", -1));
    assert_clean(w);
    whole_free(w);
}

Test(reference_recordings, sent_copies_of_fd_frames_are_one_frame_on_the_bus)
{
    struct whole *w = whole_read_data("secdev__scapy/canfd.pcap");
    char path[1024];
    struct dbr_frame frame;

    cr_assert_eq(w->info->frames, 4);
    cr_assert_eq(w->info->copies, 2);
    cr_assert_eq(w->history->buses[0].frames, 2);
    cr_assert_eq(w->history->buses[0].fd_frames, 2);
    real_path(path, sizeof path, "secdev__scapy/canfd.pcap");
    cr_assert(whole_first_frame(path, 0x123, &frame));
    cr_assert_eq(frame.length, 12);
    cr_assert(frame.flags & DBR_FRAME_FD);
    whole_free(w);
}

Test(reference_recordings, a_capture_of_link_type_227)
{
    static const uint32_t ids[] = {0x000, 0x5C2, 0x642, 0x721, 0x733, 0x742, 0x763, 0x7E4, 0x7E5};
    struct whole *w = whole_read_data("secdev__scapy/canopen_linktype227.pcap");
    char path[1024];
    struct dbr_frame frame;

    cr_assert_eq(w->history->buses[0].standard_frames, 34);
    real_path(path, sizeof path, "secdev__scapy/canopen_linktype227.pcap");
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        cr_assert(whole_first_frame(path, ids[i], &frame), "%X", ids[i]);
        cr_assert(frame.length == 1 || frame.length == 2 || frame.length == 8);
    }
    assert_clean(w);
    whole_free(w);
}

/*
 * No recording of these collections holds a whole message that says who an ECU is: by their
 * bytes, 65259 is asked for every 2.5 s there and each transfer of it dies. So nobody may be
 * said to have told anything, and labels stay as they are without.
 */
Test(reference_recordings, nobody_told_who_it_is)
{
    static const char *const names[] = {
        "SystemsCyber__J1939_Attack_Datasets/Connection_Exhaustion_attack.txt.gz",
        "SystemsCyber__CyberTruckResources/candump-RTSResourceExhaustion.log.gz",
        "AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz",
        "TractorHacking__CAN-data/highRPM1.log.gz"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct whole *w = whole_read_data(names[i]);
        for (size_t k = 0; k < w->history->ecu_count; k++)
            cr_expect_null(w->history->ecus[k].identity, "%s: address %u", names[i],
                           w->history->ecus[k].address);
        cr_expect_eq(w->history->working_set_count, 0);
        whole_free(w);
    }
}
