/*
 * ecu_tractor.c - the tractor ECU: speeds, hitch, PTO, supply, time.
 *
 * Layouts: ISO 11783-7 and, for electrical power and time, SAE J1939-71. Bytes
 * in the comments count from 1, as there; bits that are reserved are sent as 1.
 */
#include <stddef.h>

#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

#define NOT_AVAILABLE16   0xFFFFu
#define FORWARD           1u
#define DIRECTION_UNKNOWN 3u
#define NO_EXIT_CODE      0xC0u /* six bits "all clear", two reserved */

#define SOURCE_WHEEL  0u /* SPN 4308 */
#define SOURCE_GROUND 1u

static void put_speed(uint8_t data[8], const struct farm_reading *r)
{
    farm_put16(data, r->valid ? (uint32_t)farm_round(r->speed_mps * 1000.0) : NOT_AVAILABLE16);
    farm_put32(data + 2, (uint32_t)farm_round(r->distance_m * 1000.0));
}

static unsigned direction_of(const struct farm_reading *r)
{
    return r->valid ? FORWARD : DIRECTION_UNKNOWN;
}

static bool compose_wheel(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_reading *r = &sim->sensors.readings[FARM_SENSOR_WHEEL];

    (void)ecu;
    put_speed(data, r);
    data[6] = 5; /* minutes that the tractor keeps power up */
    /* 8: direction; key switch not off; start/stop not available; not reversed */
    data[7] = (uint8_t)(direction_of(r) | 1u << 2 | 3u << 4);
    return true;
}

static bool compose_ground(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_reading *r = &sim->sensors.readings[FARM_SENSOR_RADAR];

    (void)ecu;
    put_speed(data, r);
    data[7] = (uint8_t)(direction_of(r) | 0xFCu);
    return true;
}

/* The tractor selects its radar, and its wheels only where the radar has no value. */
static bool compose_selected(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_reading *wheel = &sim->sensors.readings[FARM_SENSOR_WHEEL];
    const struct farm_reading *radar = &sim->sensors.readings[FARM_SENSOR_RADAR];
    const struct farm_reading *chosen = radar->valid ? radar : wheel;

    (void)ecu;
    put_speed(data, chosen);
    data[6] = NO_EXIT_CODE;
    /* 8: direction, source, limit status "not limited" */
    data[7] =
        (uint8_t)(direction_of(chosen) | (chosen == radar ? SOURCE_GROUND : SOURCE_WHEEL) << 2);
    return true;
}

static bool compose_hitch(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_world *w = &sim->world;

    (void)ecu;
    data[0] = (uint8_t)farm_round(w->hitch_percent / 0.4);
    /* 2: reserved, limit status "not limited", in-work indication */
    data[1] = (uint8_t)(0x07u | (farm_world_lowered(w) ? 1u : 0u) << 6);
    farm_put16(data + 3, (uint32_t)farm_round((w->draft_n + 320000.0) / 10.0));
    data[5] = NO_EXIT_CODE;
    return true;
}

/* While engaged only; else it is sent on request, and nobody asks. */
static bool compose_pto(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    (void)ecu;
    if (!sim->world.pto_engaged)
        return false;
    farm_put16(data, (uint32_t)farm_round(sim->world.pto_rpm / 0.125));
    farm_put16(data + 2, (uint32_t)(540.0 / 0.125));
    data[4] = 0x40; /* request accepted, no economy mode, mode 540, engaged */
    data[5] = 0x01; /* reserved bit, not limited, requests accepted */
    data[6] = NO_EXIT_CODE;
    return true;
}

static uint32_t half_tenths(double volts)
{
    return (uint32_t)farm_round(volts / 0.05);
}

static bool compose_electrical(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_world *w = &sim->world;
    bool charging = w->engine_rpm > 500.0;

    (void)ecu;
    data[0] = (uint8_t)(125 + (charging ? 6 : w->cranking ? -120 : -14)); /* A, offset -125 */
    data[1] = charging ? 38 : 0;                                          /* A */
    farm_put16(data + 2, half_tenths(charging ? w->battery_v + 0.1 : w->battery_v));
    farm_put16(data + 4, half_tenths(w->battery_v));
    farm_put16(data + 6, half_tenths(w->battery_v - 0.1));
    return true;
}

static void send_language(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t data[8] = {FARM_LANGUAGE_BYTES, 0xFF, 0xFF};

    farm_ecu_send(sim, ecu, 6, FARM_PGN_LANGUAGE, FARM_GLOBAL, data, 0);
}

/* PGN 65254. FARM_EPOCH_S is 16:26:40 on 2024-05-29; no scenario lasts to the next hour. */
static void send_time(struct farm_sim *sim, struct farm_ecu *ecu)
{
    int64_t quarters = sim->now_ns / (FARM_NS_PER_S / 4);
    int64_t seconds = 26 * 60 + 40 + quarters / 4;
    uint8_t data[8] = {
        (uint8_t)(seconds % 60 * 4 + quarters % 4), /* 0.25 s */
        (uint8_t)(seconds / 60),
        16,
        5,
        29 * 4, /* 0.25 d, rounded up */
        2024 - 1985,
        125,
        125, /* local time is UTC: offset 0 */
    };

    farm_ecu_send(sim, ecu, 6, FARM_PGN_TIME_DATE, FARM_GLOBAL, data, 1500);
}

static void hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    if (farm_is_request(ecu, frame, FARM_PGN_TIME_DATE))
        send_time(sim, ecu);
}

static const struct farm_message messages[] = {
    {FARM_PGN_WHEEL_SPEED, 3, FARM_GLOBAL, 100, 11, compose_wheel},
    {FARM_PGN_GROUND_SPEED, 3, FARM_GLOBAL, 100, 11, compose_ground},
    {FARM_PGN_SELECTED_SPEED, 3, FARM_GLOBAL, 100, 12, compose_selected},
    {FARM_PGN_REAR_HITCH, 3, FARM_GLOBAL, 100, 37, compose_hitch},
    {FARM_PGN_REAR_PTO, 3, FARM_GLOBAL, 100, 62, compose_pto},
    {FARM_PGN_ELECTRICAL, 6, FARM_GLOBAL, 1000, 205, compose_electrical},
};

const struct farm_ecu_design farm_tractor_design = {
    .name = {.industry_group = 2, .device_class = 0, .function = 134, .identity = 2101},
    .address = FARM_TRACTOR_ADDRESS,
    .boot_ms = 180,
    .clock_ppm = 40,
    .jitter_us = 900,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
    .told = {"7.02*", "T-240*2101*cab***A*"},
    .start = send_language,
    .hear = hear,
};
