/*
 * simulation.h - truth, sensors, ECUs, bus and recorder, moved on together.
 *
 * The same scenario always gives the same recording, whatever the compiler.
 */
#ifndef FARM_SIMULATION_H
#define FARM_SIMULATION_H

#include "farm/bus.h"
#include "farm/controller.h"
#include "farm/ecu.h"
#include "farm/metering.h"
#include "farm/recorder.h"
#include "farm/sensors.h"
#include "farm/spreader.h"
#include "farm/world.h"

struct farm_sim {
    const struct farm_scenario *scenario; /* borrowed */
    int64_t now_ns;                       /* since key-on */
    struct farm_world world;
    struct farm_sensors sensors;
    struct farm_metering metering;
    struct farm_spreader spreader;     /* memory of the belt controller */
    struct farm_controller controller; /* memory of the task controller */
    struct farm_random weighing;       /* noise of the load cells */
    struct farm_bus bus;
    struct farm_ecu ecus[FARM_UNIT_COUNT];
    struct farm_recorder recorder;
};

/*
 * Plays a scenario and adds what the recorder hears to `out`, which starts as
 * {0} and is the caller's to release. False where memory or a queue ran out.
 */
bool farm_simulate(const struct farm_scenario *scenario, struct farm_recording *out);

#endif
