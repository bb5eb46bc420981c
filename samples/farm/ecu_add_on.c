/*
 * ecu_add_on.c - a granule flow sensor that somebody fits later.
 *
 * Its maker gave it the address that the weighing unit has, and no means to
 * choose another. Product flow is function 133, product level 134: its NAME is
 * the lower one, so it wins.
 *
 * Proprietary B 65320, 200 ms, layout invented: bytes 1-2 flow, 0.001 kg/s; rest FF.
 */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

static bool compose_flow(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    double flow_kgps = sim->metering.flow_kgps[0] + sim->metering.flow_kgps[1];
    double noise = 1.0 + 0.02 * farm_random_noise(&ecu->random);

    farm_put16(data, (uint32_t)farm_round(flow_kgps * noise * 1000.0));
    return true;
}

static const struct farm_message messages[] = {
    {FARM_PGN_GRANULE_FLOW, 6, FARM_GLOBAL, 200, 90, compose_flow},
};

const struct farm_ecu_design farm_add_on_design = {
    .name = {.industry_group = 2, .device_class = 5, .function = 133, .identity = 7777},
    .address = FARM_WEIGHER_ADDRESS,
    .boot_ms = 900,
    .clock_ppm = -40,
    .jitter_us = 1500,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
};
