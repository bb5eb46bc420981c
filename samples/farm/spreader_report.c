/*
 * spreader_report.c - the values of the belt controller, one row each.
 *
 * To add a value: its DDI in process_data.h, a row below, and a subscription in
 * ecu_controller.c.
 */
#include <string.h>

#include "farm/maths.h"
#include "farm/process_data.h"
#include "farm/simulation.h"

#define ANSWER_US              2500
#define REPORT_JITTER_US       2000
#define SECTIONS_NOT_INSTALLED 0xFFFFF000u /* 7 to 16 of 16: 11 each (ISO 11783-11, DDI 161) */

struct value {
    uint16_t element;
    uint16_t ddi;
    bool (*get)(const struct farm_sim *sim, unsigned bin, int32_t *out); /* false: no value now */
};

static bool get_speed(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    const struct farm_reading *axle = &sim->sensors.readings[FARM_SENSOR_AXLE];

    (void)bin;
    *out = (int32_t)farm_round(axle->speed_mps * 1000.0);
    return axle->valid;
}

static bool get_work_state(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    (void)bin;
    *out = sim->metering.working;
    return true;
}

/* A section whose boom unit is silent is in error (10), else it is open (01) or closed (00). */
static bool get_sections(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    const struct farm_metering *m = &sim->metering;
    uint32_t states = SECTIONS_NOT_INSTALLED;

    (void)bin;
    for (unsigned i = 0; i < FARM_BOOMS * FARM_BOOM_SECTIONS; i++) {
        unsigned boom = i / FARM_BOOM_SECTIONS;
        uint32_t state = !m->boom_heard[boom] ? 2u : m->opening[boom] > 0.5 ? 1u : 0u;
        states |= state << 2 * i;
    }
    *out = (int32_t)states;
    return true;
}

static bool get_section_control(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    (void)bin;
    *out = sim->spreader.connection == FARM_CONNECTED; /* automatic while there is a controller */
    return true;
}

static bool get_rate_setpoint(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    *out = (int32_t)farm_round(sim->metering.rate_kg_per_m2[bin] * 1e6);
    return true;
}

static bool get_rate_actual(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    *out = (int32_t)farm_round(farm_metering_rate(&sim->metering, bin) * 1e6);
    return true;
}

/* 0.0001 1/min. */
static int32_t shaft_speed(double rps)
{
    return (int32_t)farm_round(rps * 60.0 * 10000.0);
}

static bool get_shaft_setpoint(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    *out = shaft_speed(sim->metering.wanted_rps[bin]);
    return true;
}

static bool get_shaft_speed(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    *out = shaft_speed(sim->metering.belt_rps[bin]);
    return true;
}

static bool get_total_mass(const struct farm_sim *sim, unsigned bin, int32_t *out)
{
    *out = (int32_t)sim->metering.spread_kg[bin];
    return true;
}

static const struct value values[] = {
    {FARM_ELEMENT_BOOM, FARM_DDI_SPEED, get_speed},
    {FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE, get_work_state},
    {FARM_ELEMENT_BOOM, FARM_DDI_SECTIONS, get_sections},
    {FARM_ELEMENT_BOOM, FARM_DDI_SECTION_CONTROL, get_section_control},
    {FARM_ELEMENT_BIN, FARM_DDI_RATE_SETPOINT, get_rate_setpoint},
    {FARM_ELEMENT_BIN + 1, FARM_DDI_RATE_SETPOINT, get_rate_setpoint},
    {FARM_ELEMENT_BIN, FARM_DDI_RATE_ACTUAL, get_rate_actual},
    {FARM_ELEMENT_BIN + 1, FARM_DDI_RATE_ACTUAL, get_rate_actual},
    {FARM_ELEMENT_BIN, FARM_DDI_SHAFT_SPEED_SETPOINT, get_shaft_setpoint},
    {FARM_ELEMENT_BIN + 1, FARM_DDI_SHAFT_SPEED_SETPOINT, get_shaft_setpoint},
    {FARM_ELEMENT_BIN, FARM_DDI_SHAFT_SPEED, get_shaft_speed},
    {FARM_ELEMENT_BIN + 1, FARM_DDI_SHAFT_SPEED, get_shaft_speed},
    {FARM_ELEMENT_BIN, FARM_DDI_TOTAL_MASS, get_total_mass},
    {FARM_ELEMENT_BIN + 1, FARM_DDI_TOTAL_MASS, get_total_mass},
};

#define VALUE_COUNT (sizeof values / sizeof *values)
_Static_assert(VALUE_COUNT <= FARM_VALUES_MAX, "a subscription for each value");

static bool get(const struct farm_sim *sim, size_t index, int32_t *out)
{
    const struct value *v = &values[index];
    unsigned bin = v->element >= FARM_ELEMENT_BIN ? v->element - FARM_ELEMENT_BIN : 0;

    return v->get(sim, bin, out);
}

static void report(struct farm_sim *sim, struct farm_ecu *ecu, size_t index, int64_t delay_us)
{
    struct farm_process_data p = {FARM_COMMAND_VALUE, values[index].element, values[index].ddi, 0};

    if (!get(sim, index, &p.value))
        return;
    sim->spreader.subscriptions[index].last = p.value;
    farm_process_data_send(sim, ecu, FARM_CONTROLLER_ADDRESS, &p, delay_us);
}

static bool has_changed(const struct farm_sim *sim, size_t index)
{
    const struct farm_subscription *s = &sim->spreader.subscriptions[index];
    int32_t now;

    return s->on_change && get(sim, index, &now) && now != s->last;
}

void farm_report_tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    if (sim->spreader.connection != FARM_CONNECTED)
        return;
    for (size_t i = 0; i < VALUE_COUNT; i++) {
        struct farm_subscription *s = &sim->spreader.subscriptions[i];
        if (s->interval_ns > 0 && sim->now_ns >= s->due_ns) {
            s->due_ns += s->interval_ns + s->interval_ns / 1000000 * ecu->design->clock_ppm;
            report(sim, ecu, i, farm_random_below(&ecu->random, REPORT_JITTER_US));
        } else if (has_changed(sim, i)) {
            report(sim, ecu, i, 0);
        }
    }
}

/* A set-point of the task controller. */
static void obey(struct farm_sim *sim, const struct farm_process_data *p)
{
    if (p->ddi == FARM_DDI_WORK_STATE_SETPOINT)
        sim->metering.wanted = p->value == 1;
    else if (p->ddi == FARM_DDI_RATE_SETPOINT && p->element >= FARM_ELEMENT_BIN &&
             p->element < FARM_ELEMENT_BIN + FARM_BINS)
        sim->metering.rate_kg_per_m2[p->element - FARM_ELEMENT_BIN] = p->value / 1e6;
}

static void subscribe(struct farm_sim *sim, struct farm_ecu *ecu, size_t index,
                      const struct farm_process_data *p)
{
    struct farm_subscription *s = &sim->spreader.subscriptions[index];

    if (p->command == FARM_COMMAND_TIME_INTERVAL) {
        s->interval_ns = p->value * FARM_NS_PER_MS;
        s->due_ns = sim->now_ns + s->interval_ns;
    } else if (p->command == FARM_COMMAND_CHANGE) {
        s->on_change = p->value != 0;
        report(sim, ecu, index, ANSWER_US);
    } else if (p->command == FARM_COMMAND_REQUEST_VALUE) {
        report(sim, ecu, index, ANSWER_US);
    }
}

void farm_report_command(struct farm_sim *sim, struct farm_ecu *ecu,
                         const struct farm_process_data *p)
{
    if (p->command == FARM_COMMAND_VALUE) {
        obey(sim, p);
        return;
    }
    for (size_t i = 0; i < VALUE_COUNT; i++)
        if (values[i].element == p->element && values[i].ddi == p->ddi)
            subscribe(sim, ecu, i, p);
}
