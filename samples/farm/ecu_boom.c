/*
 * ecu_boom.c - the two boom units: outlets and height.
 *
 * Proprietary B, layouts invented, bytes counted from 1:
 *
 *   65310 outlets, 100 ms     1  outlet states, 2 bits a section from the inner end:
 *                                0 closed, 1 open, 2 moving, 3 not installed
 *                             2  opening of the outlets, percent
 *                             3-7 FF   8  counter 0..250
 *   65311 height, 200 ms      1-2 height of the boom tip above ground, mm
 *                             3-4 height of the inner end, mm    5-8 FF
 *
 * What the outlets do follows the commands of the belt controller (metering.c).
 */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

#define COUNTER_LAST     250u
#define HEIGHT_WORK_MM   1150.0
#define HEIGHT_LIFTED_MM 1900.0

static unsigned boom_of(const struct farm_ecu *ecu)
{
    return ecu->unit == FARM_UNIT_LEFT_BOOM ? 0 : 1;
}

static bool compose_outlets(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    double opening = sim->metering.opening[boom_of(ecu)];
    unsigned state = opening <= 0.0 ? 0u : opening >= 1.0 ? 1u : 2u;

    data[0] = (uint8_t)(state | state << 2 | state << 4 | 0xC0u);
    data[1] = (uint8_t)farm_round(opening * 100.0);
    data[7] = ecu->counter;
    ecu->counter = (uint8_t)((ecu->counter + 1u) % (COUNTER_LAST + 1u));
    return true;
}

/* The booms follow the hitch up and down, and swing a little while the tractor moves. */
static bool compose_height(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_world *w = &sim->world;
    double lift = farm_clamp((w->hitch_percent - 14.0) / 48.0, 0.0, 1.0);
    double inner = HEIGHT_WORK_MM + (HEIGHT_LIFTED_MM - HEIGHT_WORK_MM) * lift;
    double side = boom_of(ecu) == 0 ? 1.0 : -1.0; /* one tip goes up as the other goes down */
    double swing = side * 22.0 * w->speed_mps * farm_sine(2.1 * w->time_s);
    double noise = 4.0 * farm_random_noise(&ecu->random);

    farm_put16(data, (uint32_t)farm_round(inner + swing + noise));
    farm_put16(data + 2, (uint32_t)farm_round(inner + noise / 4.0));
    return true;
}

static const struct farm_message messages[] = {
    {FARM_PGN_OUTLETS, 6, FARM_GLOBAL, 100, 23, compose_outlets},
    {FARM_PGN_BOOM_HEIGHT, 6, FARM_GLOBAL, 200, 71, compose_height},
};

#define BOOM(instance, serial, at, boot, ppm, itself)                                              \
    {                                                                                              \
        .name = {.industry_group = 2,                                                              \
                 .device_class = 5,                                                                \
                 .function = 129,                                                                  \
                 .function_instance = (instance),                                                  \
                 .identity = (serial),                                                             \
                 .self_configurable = true},                                                       \
        .address = (at), .boot_ms = (boot), .clock_ppm = (ppm), .jitter_us = 1200,                 \
        .messages = messages, .message_count = sizeof messages / sizeof *messages,                 \
        .told = {"1.3.0*", itself},                                                                \
    }

const struct farm_ecu_design farm_left_boom_design =
    BOOM(0, 4073, FARM_LEFT_BOOM_ADDRESS, 610, -110,
         "GS-24-20*4073*left boom*left boom unit**C*");
const struct farm_ecu_design farm_right_boom_design =
    BOOM(1, 4074, FARM_RIGHT_BOOM_ADDRESS, 660, 70,
         "GS-24-20*4074*right boom*right boom unit**C*");
