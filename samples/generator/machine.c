/*
 * machine.c - see machine.h. Layouts: ISO 11783-7 (tractor), ISO 11783-10 (process
 * data), NMEA 2000 (position), SAE J1939-71 (engine, supply). Groups from 65301 are
 * proprietary and our own.
 */
#include "machine.h"

#include <string.h>

const struct ecu_kind ecu_kinds[] = {
    {ADDRESS_ENGINE, UINT64_C(0x00000000FFE00010), 0.10, "engine"},
    {ADDRESS_TRACTOR, UINT64_C(0x20008600FFE00011), 0.16, "tractor ECU"},
    {ADDRESS_GNSS, UINT64_C(0xA0001700FFE00012), 0.85, "GNSS receiver"},
    {ADDRESS_CONTROLLER, UINT64_C(0xA0008200FFE00013), 1.90, "task controller"},
    {ADDRESS_SPREADER, UINT64_C(0xA00A8000FFE00014), 0.42, "spreader"},
    {ADDRESS_WEIGHER, UINT64_C(0x200A8600FFE00015), 0.47, "weighing unit"},
    {ADDRESS_LEFT_BOOM, UINT64_C(0xA00A8108FFE00016), 0.51, "left boom unit"},
    {ADDRESS_RIGHT_BOOM, UINT64_C(0xA00A8110FFE00017), 0.54, "right boom unit"},
};

const size_t ecu_kind_count = sizeof ecu_kinds / sizeof ecu_kinds[0];

static void put(uint8_t *out, double value, unsigned bytes)
{
    int64_t whole = (int64_t)(value < 0 ? value - 0.5 : value + 0.5);

    for (unsigned i = 0; i < bytes; i++)
        out[i] = (uint8_t)((uint64_t)whole >> (8 * i));
}

/* 65096 and 65097: speed 1 mm/s, way 1 mm, direction, key switch not off. */
static void fill_wheel(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put(data, w->wheel_mps * 1000, 2);
    put(data + 2, w->wheel_m * 1000, 4);
    data[6] = 0xFF;
    data[7] = 0xC0 | 1 << 4 | 1 << 2 | 1;
}

static void fill_ground(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put(data, w->radar_mps * 1000, 2);
    put(data + 2, w->radar_m * 1000, 4);
    data[6] = 0xFF;
    data[7] = 0xFD;
}

/* 61474: the ground speed selected (SPN 4308: 1). */
static void fill_selected(const struct world *w, uint32_t count, uint8_t data[8])
{
    fill_ground(w, count, data);
    data[6] = 0xC0;
    data[7] = 1 | 1 << 2 | 0 << 5;
}

static void fill_hitch(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    memset(data, 0xFF, 8);
    data[0] = w->in_work ? 45 : 160;
    data[1] = (uint8_t)(0x07 | (w->in_work ? 1 : 0) << 6);
    data[5] = 0xC0;
}

static void fill_pto(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    memset(data, 0xFF, 8);
    put(data, w->pto_rpm * 8, 2);
    put(data + 2, 540 * 8, 2);
    data[4] = (uint8_t)(0x0C | 0 << 4 | (w->pto_rpm > 50 ? 1 : 0) << 6);
    data[5] = 0xF1;
    data[6] = 0xC0;
}

static void fill_supply(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    memset(data, 0xFF, 8);
    put(data + 4, w->volts / 0.05, 2);
    put(data + 6, (w->volts - 0.1) / 0.05, 2);
}

static void fill_engine(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    memset(data, 0xFF, 8);
    data[0] = 0xF0;
    data[2] = (uint8_t)(125 + (w->in_work ? 48 : 22));
    put(data + 3, w->rpm * 8, 2);
}

/* A field somewhere at 51.5 degrees north; eastward, one metre is 1.4456e-5 degrees there. */
static void fill_position(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put(data, 51.5e7, 4);
    put(data + 4, 8.25e7 + w->axle_m * 1.4456e-5 * 1e7, 4);
}

static void fill_course(const struct world *w, uint32_t count, uint8_t data[8])
{
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)(count % 253);
    data[1] = 0xFC;
    put(data + 2, 15708, 2);
    put(data + 4, w->gnss_mps * 100, 2);
}

/* Process data, command "value" (3): element, DDI, value. */
static void put_value(uint8_t data[8], unsigned element, unsigned ddi, double value)
{
    data[0] = (uint8_t)(3u | element << 4);
    data[1] = (uint8_t)(element >> 4);
    put(data + 2, ddi, 2);
    put(data + 4, value, 4);
}

static void fill_axle(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put_value(data, 1, 397, w->sensed_mps * 1000);
}

static void fill_work_state(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put_value(data, 2, 141, w->belt_rpm[0] > 1 ? 1 : 0);
}

static void fill_sections(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put_value(data, 2, 161, w->belt_rpm[0] > 1 ? 0x555 : 0);
}

/* Set-point and actual mass per area (DDI 6, 7) and belt speed (DDI 390) of bins in turn. */
static void fill_rates(const struct world *w, uint32_t count, uint8_t data[8])
{
    unsigned bin = count / 3 % BINS;
    double setpoint = w->in_work ? RATE_SETPOINT_MG_M2 : 0;

    if (count % 3 == 0)
        put_value(data, 10 + bin, 6, setpoint);
    else if (count % 3 == 1)
        put_value(data, 10 + bin, 7, w->rate_mg_m2[bin]);
    else
        put_value(data, 10 + bin, 390, w->belt_rpm[bin] * 10000);
}

/* The controller's wish: set-point work state (DDI 289). */
static void fill_wish(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)count;
    put_value(data, 2, 289, w->in_work ? 1 : 0);
}

static void fill_controller_status(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)w;
    (void)count;
    memcpy(data, (const uint8_t[8]){0xFE, 0xFF, 0xFF, 0xFF, 0x01, 0x00, 0x00, 0xFF}, 8);
}

static void fill_client_task(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)w;
    (void)count;
    memcpy(data, (const uint8_t[8]){0xFF, 0xFF, 0xFF, 0xFF, 0x01, 0x00, 0x00, 0x00}, 8);
}

static void fill_weights(const struct world *w, uint32_t count, uint8_t data[8])
{
    memset(data, 0xFF, 8);
    put(data, w->bin_kg[0] * 10, 2);
    put(data + 2, w->bin_kg[1] * 10, 2);
    data[7] = (uint8_t)(count % 251);
}

static void fill_boom(const struct world *w, uint32_t count, uint8_t data[8])
{
    memset(data, 0xFF, 8);
    data[0] = w->in_work && w->belt_rpm[0] > 1 ? 0x3F : 0;
    put(data + 1, 820 + 30 * w->wander, 2);
    data[7] = (uint8_t)(count % 251);
}

#define TO_ALL ADDRESS_ALL
#define PROCESS 51968u

const struct message_kind message_kinds[] = {
    {ADDRESS_ENGINE, TO_ALL, 3, 61444, 0.05, 0.3, fill_engine, false},
    {ADDRESS_TRACTOR, TO_ALL, 3, 65096, 0.1, 0.3, fill_wheel, false},
    {ADDRESS_TRACTOR, TO_ALL, 3, 65097, 0.1, 0.3, fill_ground, false},
    {ADDRESS_TRACTOR, TO_ALL, 3, 61474, 0.1, 0.3, fill_selected, false},
    {ADDRESS_TRACTOR, TO_ALL, 3, 65093, 0.1, 0.3, fill_hitch, false},
    {ADDRESS_TRACTOR, TO_ALL, 3, 65091, 0.1, 0.4, fill_pto, false},
    {ADDRESS_TRACTOR, TO_ALL, 6, 65271, 1.0, 0.4, fill_supply, false},
    {ADDRESS_GNSS, TO_ALL, 2, 129025, 0.1, 1.2, fill_position, false},
    {ADDRESS_GNSS, TO_ALL, 2, 129026, 0.25, 1.2, fill_course, false},
    {ADDRESS_CONTROLLER, TO_ALL, 3, PROCESS, 2.0, 0.5, fill_controller_status, false},
    {ADDRESS_CONTROLLER, ADDRESS_SPREADER, 3, PROCESS, 1.0, 7.5, fill_wish, false},
    {ADDRESS_SPREADER, ADDRESS_CONTROLLER, 3, PROCESS, 2.0, 6.4, fill_client_task, false},
    {ADDRESS_SPREADER, ADDRESS_CONTROLLER, 3, PROCESS, 0.1, 7.6, fill_axle, true},
    {ADDRESS_SPREADER, ADDRESS_CONTROLLER, 3, PROCESS, 1.0, 7.65, fill_work_state, false},
    {ADDRESS_SPREADER, ADDRESS_CONTROLLER, 3, PROCESS, 1.0, 7.7, fill_sections, false},
    {ADDRESS_SPREADER, ADDRESS_CONTROLLER, 3, PROCESS, 0.17, 7.75, fill_rates, false},
    {ADDRESS_WEIGHER, TO_ALL, 6, 65301, 0.2, 0.5, fill_weights, false},
    {ADDRESS_LEFT_BOOM, TO_ALL, 6, 65302, 0.1, 0.5, fill_boom, false},
    {ADDRESS_RIGHT_BOOM, TO_ALL, 6, 65302, 0.1, 0.5, fill_boom, false},
};

const size_t message_kind_count = sizeof message_kinds / sizeof message_kinds[0];

#define SPREADER_TO_CONTROLLER ADDRESS_SPREADER, ADDRESS_CONTROLLER, 5, PROCESS
#define CONTROLLER_TO_SPREADER ADDRESS_CONTROLLER, ADDRESS_SPREADER, 5, PROCESS

const struct dialogue_step dialogue[] = {
    /* working set master with three members, then their NAMEs */
    {6.30, ADDRESS_SPREADER, TO_ALL, 7, 65037, {4, 255, 255, 255, 255, 255, 255, 255}},
    {6.41, ADDRESS_SPREADER, TO_ALL, 7, 65036, {0x15, 0, 0xE0, 0xFF, 0x00, 0x86, 0x0A, 0x20}},
    {6.52, ADDRESS_SPREADER, TO_ALL, 7, 65036, {0x16, 0, 0xE0, 0xFF, 0x08, 0x81, 0x0A, 0xA0}},
    {6.63, ADDRESS_SPREADER, TO_ALL, 7, 65036, {0x17, 0, 0xE0, 0xFF, 0x10, 0x81, 0x0A, 0xA0}},
    /* request version, version */
    {6.75, SPREADER_TO_CONTROLLER, {0x00, 255, 255, 255, 255, 255, 255, 255}},
    {6.79, CONTROLLER_TO_SPREADER, {0x10, 4, 255, 0x1F, 0, 1, 16, 16}},
    /* request structure label, label; request localization label, label */
    {6.90, SPREADER_TO_CONTROLLER, {0x01, 255, 255, 255, 255, 255, 255, 255}},
    {6.94, CONTROLLER_TO_SPREADER, {0x11, 'F', 'A', 'R', 'M', '0', '0', '1'}},
    {7.05, SPREADER_TO_CONTROLLER, {0x21, 255, 255, 255, 255, 255, 255, 255}},
    {7.09, CONTROLLER_TO_SPREADER, {0x31, 'e', 'n', 0x50, 0, 0x55, 0x55, 255}},
    /* activate, activated */
    {7.20, SPREADER_TO_CONTROLLER, {0x81, 255, 255, 255, 255, 255, 255, 255}},
    {7.27, CONTROLLER_TO_SPREADER, {0x91, 0, 255, 255, 255, 255, 0, 255}},
    /* measure actual speed and actual rates by time */
    {7.40, CONTROLLER_TO_SPREADER, {0x14, 0, 0x8D, 0x01, 100, 0, 0, 0}},
    {7.44, CONTROLLER_TO_SPREADER, {0xA4, 0, 7, 0, 0xE8, 3, 0, 0}},
    {7.48, CONTROLLER_TO_SPREADER, {0xB4, 0, 7, 0, 0xE8, 3, 0, 0}},
};

const size_t dialogue_count = sizeof dialogue / sizeof dialogue[0];

uint32_t machine_id(uint8_t priority, uint32_t pgn, uint8_t destination, uint8_t source)
{
    uint32_t low = (pgn >> 8 & 0xFF) < 240 ? destination : pgn & 0xFF;
    return (uint32_t)priority << 26 | (pgn >> 8) << 16 | low << 8 | source;
}
