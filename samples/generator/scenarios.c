/*
 * scenarios.c - the recordings of the invented farm.
 *
 * To add one: a row here (times in seconds from key-on), a new kind of fault in
 * faults.h where it needs one, then `drawbar-generate --all samples`. The drive is
 * that of world.c: pulls away at 14 s, headland at 30 s, stops at 44 s.
 */
#include "faults.h"

const struct scenario scenarios[] = {
    {"healthy.log", "a sound machine, from key-on: two passes with a headland turn", 1, 48, 0, {{0}}},
    {"axle-sensor-dead.log",
     "the axle speed sensor of the spreader has no supply: no speed, so no rate", 1, 48, 1,
     {{FAULT_AXLE_DEAD, 128, 0, NEVER}}},
    {"axle-sensor-repaired.log", "the same machine after the repair", 2, 48, 0, {{0}}},
    {"axle-message-stops.log", "the spreader stops sending its speed at 25 s", 3, 48, 1,
     {{FAULT_AXLE_MUTE, 128, 25, NEVER}}},
    {"address-conflict.log",
     "at 26 s a second unit claims the address of the weighing unit, and wins", 4, 48, 1,
     {{FAULT_NEWCOMER, 131, 26, NEVER}}},
    {"recorder-bus-off.log", "the recorder's own controller leaves the bus from 27 s to 28.3 s",
     5, 48, 1, {{FAULT_RECORDER_OFF, 0, 27, 28.3}}},
    {"booms-drop-out.pcapng", "both boom units lose their supply from 24 s to 32 s", 6, 48, 2,
     {{FAULT_ECU_OFF, 140, 24, 32}, {FAULT_ECU_OFF, 141, 24.03, 32.02}}},
    {"healthy-long.log.gz", "a sound machine once more, compressed", 7, 90, 0, {{0}}},
};

const size_t scenario_count = sizeof scenarios / sizeof scenarios[0];
