/* simulation.c - see simulation.h. */
#include "farm/simulation.h"

#include <string.h>

#include "farm/ecus.h"
#include "farm/maths.h"

static void start(struct farm_sim *sim, const struct farm_scenario *scenario,
                  struct farm_recording *out)
{
    memset(sim, 0, sizeof *sim);
    sim->scenario = scenario;
    sim->recorder.out = out;
    sim->weighing = farm_random_start(scenario->seed, FARM_STREAM_WEIGHING);
    farm_world_start(&sim->world, scenario->seed);
    farm_sensors_start(&sim->sensors, scenario->seed);
    farm_metering_start(&sim->metering);
    for (int i = 0; i < FARM_UNIT_COUNT; i++)
        farm_ecu_init(&sim->ecus[i], farm_designs[i], (enum farm_unit)i, scenario->seed);
}

static void move_world(struct farm_sim *sim)
{
    bool running = sim->ecus[FARM_UNIT_SPREADER].state == FARM_ECU_RUNNING;

    farm_world_step(&sim->world, farm_drive_at(sim->scenario, sim->now_ns));
    farm_sensors_step(&sim->sensors, &sim->world, sim->scenario, sim->now_ns);
    farm_metering_step(&sim->metering, &sim->world, &sim->sensors.readings[FARM_SENSOR_AXLE],
                       running);
}

/* A controller that is bus-off takes no frames to send. */
static void drop_what_recorder_cannot_send(struct farm_sim *sim)
{
    if (sim->recorder.bus_off)
        farm_bus_forget(&sim->bus, FARM_UNIT_RECORDER);
}

static void deliver(struct farm_sim *sim, const struct farm_transfer *transfer)
{
    farm_recorder_hear(&sim->recorder, transfer, transfer->sender == FARM_UNIT_RECORDER);
    drop_what_recorder_cannot_send(sim);
    if (transfer->failed)
        return;
    for (int i = 0; i < FARM_UNIT_COUNT; i++)
        if (i != transfer->sender)
            farm_ecu_hear(sim, &sim->ecus[i], &transfer->frame);
}

/*
 * ECUs hear a frame at its end, which may lie a little beyond the step in which it
 * began; what they answer waits until then.
 */
static void run_bus(struct farm_sim *sim, int64_t until_ns)
{
    struct farm_transfer transfer;
    bool disturbed = farm_recorder_disturbed(sim->scenario, sim->now_ns);

    sim->bus.disturbed_sender = disturbed ? FARM_UNIT_RECORDER : FARM_NOBODY;
    drop_what_recorder_cannot_send(sim);
    while (farm_bus_next(&sim->bus, until_ns, &transfer)) {
        sim->now_ns = transfer.end_ns;
        deliver(sim, &transfer);
    }
}

bool farm_simulate(const struct farm_scenario *scenario, struct farm_recording *out)
{
    struct farm_sim sim;
    int64_t end_ns = scenario->duration_ms * FARM_NS_PER_MS;

    start(&sim, scenario, out);
    for (int64_t tick_ns = 0; tick_ns < end_ns; tick_ns += FARM_STEP_NS) {
        sim.now_ns = tick_ns;
        move_world(&sim);
        farm_recorder_tick(&sim.recorder, tick_ns);
        for (int i = 0; i < FARM_UNIT_COUNT; i++)
            farm_ecu_tick(&sim, &sim.ecus[i]);
        run_bus(&sim, tick_ns + FARM_STEP_NS);
    }
    return !out->failed && !sim.bus.overflowed;
}
