/*
 * ecu_recorder.c - the recorder where it does not only listen: a service tool that polls.
 *
 * It asks the tractor ECU for time and date each second, to hold the clocks together.
 */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

#define POLL_NS FARM_NS_PER_S

static void tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    if (sim->now_ns < ecu->next_ns)
        return;
    ecu->next_ns = sim->now_ns + POLL_NS;
    farm_ecu_request(sim, ecu, ecu->design->address, FARM_TRACTOR_ADDRESS, FARM_PGN_TIME_DATE);
}

/* Industry group 0, function 129: off-board diagnostic-service tool. */
const struct farm_ecu_design farm_recorder_design = {
    .name = {.industry_group = 0, .device_class = 0, .function = 129, .identity = 9001},
    .address = FARM_RECORDER_ADDRESS,
    .boot_ms = 2600,
    .tick = tick,
};
