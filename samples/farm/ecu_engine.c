/* ecu_engine.c - the engine, through the tractor's gateway: EEC1 (SAE J1939-71) alone. */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

#define TORQUE_OFFSET 125 /* percent */

static bool compose_engine(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_world *w = &sim->world;
    uint8_t torque = (uint8_t)(farm_round(w->engine_load * 100.0) + TORQUE_OFFSET);

    data[0] = 0xF1; /* torque mode 1: governed by the accelerator; no fraction */
    data[1] = torque;
    data[2] = torque;
    farm_put16(data + 3, (uint32_t)farm_round(w->engine_rpm / 0.125));
    data[5] = ecu->design->address;
    data[7] = torque;
    return true;
}

/* A real one sends every 10 to 20 ms; the gateway thins it out. */
static const struct farm_message messages[] = {
    {FARM_PGN_ENGINE, 3, FARM_GLOBAL, 50, 21, compose_engine},
};

const struct farm_ecu_design farm_engine_design = {
    .name = {.industry_group = 2, .device_class = 1, .function = 0, .identity = 2102},
    .address = FARM_ENGINE_ADDRESS,
    .boot_ms = 90,
    .clock_ppm = -25,
    .jitter_us = 300,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
};
