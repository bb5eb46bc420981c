/*
 * scenarios.c - the recordings in samples/, one row each.
 *
 * To add a scenario: give it a row below with a file name and a seed of its own,
 * a drive and its faults (kinds: scenario.h); build; run
 * `drawbar-generate --all samples`; describe the recording in samples/README.md;
 * add its file. The test samples_regenerate then holds row and file together. A
 * new kind of fault is a value of enum farm_fault_kind and a question in
 * scenario.c that the simulation asks where the fault bites.
 */
#include "farm/scenario.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/*
 * Stands while the ECUs find each other, works along the edge of the field, lifts,
 * turns a right angle into the next side, works on, stops.
 */
static const struct farm_drive_step one_corner[] = {
    {.at_ms = 0, .hitch_percent = 62.0},
    {.at_ms = 8600, .hitch_percent = 62.0, .pto = true},
    {.at_ms = 10200, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 12600, .speed_mps = 3.3, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 14300, .speed_mps = 3.3, .hitch_percent = 14.0, .pto = true, .in_field = true},
    {.at_ms = 32500, .speed_mps = 2.4, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 33100, .speed_mps = 2.4, .hitch_percent = 62.0, .pto = true},
    {.at_ms = 33800, .speed_mps = 2.4, .hitch_percent = 62.0, .pto = true, .turn_radius_m = 9.0},
    {.at_ms = 39600, .speed_mps = 2.4, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 41100, .speed_mps = 3.0, .hitch_percent = 14.0, .pto = true, .in_field = true},
    {.at_ms = 46400, .speed_mps = 0.0, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 50200, .speed_mps = 0.0, .hitch_percent = 62.0, .pto = false},
};

/* The short drive again, with the drive of the spreader never engaged. */
static const struct farm_drive_step without_pto[] = {
    {.at_ms = 0, .hitch_percent = 62.0},
    {.at_ms = 10200, .hitch_percent = 14.0},
    {.at_ms = 12600, .speed_mps = 3.3, .hitch_percent = 14.0},
    {.at_ms = 14300, .speed_mps = 3.3, .hitch_percent = 14.0, .in_field = true},
    {.at_ms = 32500, .speed_mps = 2.4, .hitch_percent = 14.0},
    {.at_ms = 33100, .speed_mps = 2.4, .hitch_percent = 62.0},
    {.at_ms = 46400, .speed_mps = 0.0, .hitch_percent = 62.0},
};

/* The same with two corners and longer sides. */
static const struct farm_drive_step two_corners[] = {
    {.at_ms = 0, .hitch_percent = 62.0},
    {.at_ms = 8600, .hitch_percent = 62.0, .pto = true},
    {.at_ms = 9400, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 11600, .speed_mps = 2.8, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 13300, .speed_mps = 2.8, .hitch_percent = 14.0, .pto = true, .in_field = true},
    {.at_ms = 35000, .speed_mps = 2.2, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 35700, .speed_mps = 2.2, .hitch_percent = 62.0, .pto = true},
    {.at_ms = 36400, .speed_mps = 2.2, .hitch_percent = 62.0, .pto = true, .turn_radius_m = 9.0},
    {.at_ms = 42800, .speed_mps = 2.2, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 44300, .speed_mps = 3.1, .hitch_percent = 14.0, .pto = true, .in_field = true},
    {.at_ms = 60000, .speed_mps = 2.2, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 60700, .speed_mps = 2.2, .hitch_percent = 62.0, .pto = true},
    {.at_ms = 61400, .speed_mps = 2.2, .hitch_percent = 62.0, .pto = true, .turn_radius_m = 9.0},
    {.at_ms = 67800, .speed_mps = 2.2, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 69300, .speed_mps = 3.5, .hitch_percent = 14.0, .pto = true, .in_field = true},
    {.at_ms = 83500, .speed_mps = 0.0, .hitch_percent = 14.0, .pto = true},
    {.at_ms = 88400, .speed_mps = 0.0, .hitch_percent = 62.0, .pto = false},
};

/* What all rows of the short drive have in common. Set-points: 180 and 60 kg/ha. */
#define ONE_CORNER                                                                                 \
    .duration_ms = 51000, .drive = one_corner, .drive_count = COUNT(one_corner),                   \
    .rate_kg_per_m2 = {0.018, 0.006}

const struct farm_scenario farm_scenarios[] = {
    {
        .file = "healthy.log",
        .seed = 1,
        ONE_CORNER,
    },
    {
        .file = "axle-sensor-dead.log",
        .seed = 2,
        .axle_unplugged = true,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_READS_ZERO,
                    .sensor = FARM_SENSOR_AXLE,
                    .end_ms = FARM_FOREVER}},
    },
    {
        .file = "axle-sensor-repaired.log",
        .seed = 3,
        ONE_CORNER,
    },
    {
        /* Without a value the belt controller has nothing to report: DDI 397 breaks off. */
        .file = "axle-message-stops.log",
        .seed = 4,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_NOT_AVAILABLE,
                    .sensor = FARM_SENSOR_AXLE,
                    .start_ms = 25000,
                    .end_ms = FARM_FOREVER}},
    },
    {
        .file = "address-conflict.log",
        .seed = 5,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_UNIT_ADDED, .start_ms = 25100, .end_ms = FARM_FOREVER}},
    },
    {
        .file = "recorder-bus-off.log",
        .seed = 6,
        ONE_CORNER,
        .recorder_sends = true,
        .faults = {{.kind = FARM_FAULT_RECORDER_DISTURBED, .start_ms = 26200, .end_ms = 27100}},
    },
    {
        .file = "booms-drop-out.pcapng",
        .format = FARM_FORMAT_PCAPNG,
        .seed = 7,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_LEFT_BOOM,
                    .start_ms = 23600,
                    .end_ms = 30600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_RIGHT_BOOM,
                    .start_ms = 23600,
                    .end_ms = 30600}},
    },
    {
        .file = "healthy-long.log.gz",
        .seed = 8,
        .description_stored = true,
        .duration_ms = 90000,
        .drive = two_corners,
        .drive_count = COUNT(two_corners),
        .rate_kg_per_m2 = {0.018, 0.006},
    },
    {
        .file = "setpoint-zero.log.gz",
        .seed = 9,
        .duration_ms = 51000,
        .drive = one_corner,
        .drive_count = COUNT(one_corner),
        .rate_kg_per_m2 = {0.0, 0.0},
    },
    {
        .file = "controller-absent.log.gz",
        .seed = 10,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_CONTROLLER,
                    .end_ms = FARM_FOREVER}},
    },
    {
        .file = "drive-not-engaged.log.gz",
        .seed = 11,
        .duration_ms = 51000,
        .drive = without_pto,
        .drive_count = COUNT(without_pto),
        .rate_kg_per_m2 = {0.018, 0.006},
    },
    {
        .file = "weigher-removed.log.gz",
        .seed = 12,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_WEIGHER,
                    .end_ms = FARM_FOREVER}},
    },
    {
        /* A loose plug between frame and booms. */
        .file = "booms-flicker.log.gz",
        .seed = 13,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_LEFT_BOOM,
                    .start_ms = 16000,
                    .end_ms = 19600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_LEFT_BOOM,
                    .start_ms = 26000,
                    .end_ms = 29600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_LEFT_BOOM,
                    .start_ms = 42000,
                    .end_ms = 45600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_RIGHT_BOOM,
                    .start_ms = 16000,
                    .end_ms = 19600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_RIGHT_BOOM,
                    .start_ms = 26000,
                    .end_ms = 29600},
                   {.kind = FARM_FAULT_POWER_LOST,
                    .unit = FARM_UNIT_RIGHT_BOOM,
                    .start_ms = 42000,
                    .end_ms = 45600}},
    },
    {
        .file = "two-faults.log.gz",
        .seed = 14,
        ONE_CORNER,
        .faults = {{.kind = FARM_FAULT_READS_ZERO,
                    .sensor = FARM_SENSOR_AXLE,
                    .end_ms = FARM_FOREVER},
                   {.kind = FARM_FAULT_UNIT_ADDED, .start_ms = 25100, .end_ms = FARM_FOREVER}},
    },
};

const size_t farm_scenario_count = COUNT(farm_scenarios);
