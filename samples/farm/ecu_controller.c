/*
 * ecu_controller.c - the task controller: answers the spreader, then runs the task.
 *
 * Source: ISO 11783-10 (annex B messages, 6 s time-outs). It keeps the device description
 * that it receives; it may know it from an earlier day (scenario.h).
 */
#include <string.h>

#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/process_data.h"
#include "farm/simulation.h"

#define CLIENT         FARM_SPREADER_ADDRESS
#define CLIENT_LOST_NS (6 * FARM_NS_PER_S)
#define ANSWER_US      4000
#define ASK_AFTER_NS   (600 * FARM_NS_PER_MS) /* after its start; common practice, as the next */
#define ASK_SPACING_NS (900 * FARM_NS_PER_MS) /* a broadcast of one ends before its next begins */
#define SPACING_US     12000 /* between the messages of a list; common practice */

struct command {
    uint8_t command;
    uint8_t element;
    uint16_t ddi;
    int32_t value;
};

/* What the controller wants to be told, as soon as the description is active. */
static const struct command subscriptions[] = {
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BOOM, FARM_DDI_SPEED, 100},
    {FARM_COMMAND_CHANGE, FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE, 1},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE, 1000},
    {FARM_COMMAND_CHANGE, FARM_ELEMENT_BOOM, FARM_DDI_SECTIONS, 1},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BOOM, FARM_DDI_SECTIONS, 1000},
    {FARM_COMMAND_CHANGE, FARM_ELEMENT_BOOM, FARM_DDI_SECTION_CONTROL, 1},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN, FARM_DDI_RATE_SETPOINT, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN + 1, FARM_DDI_RATE_SETPOINT, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN, FARM_DDI_RATE_ACTUAL, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN + 1, FARM_DDI_RATE_ACTUAL, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN, FARM_DDI_SHAFT_SPEED_SETPOINT, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN + 1, FARM_DDI_SHAFT_SPEED_SETPOINT, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN, FARM_DDI_SHAFT_SPEED, 1000},
    {FARM_COMMAND_TIME_INTERVAL, FARM_ELEMENT_BIN + 1, FARM_DDI_SHAFT_SPEED, 1000},
    {FARM_COMMAND_VALUE, FARM_ELEMENT_BOOM, FARM_DDI_SECTION_CONTROL, 1},
    {FARM_COMMAND_VALUE, FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE_SETPOINT, 0},
    {FARM_COMMAND_REQUEST_VALUE, FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE, 0},
};

static void send_command(struct farm_sim *sim, struct farm_ecu *ecu, const struct command *c,
                         int64_t delay_us)
{
    struct farm_process_data p = {c->command, c->element, c->ddi, c->value};

    farm_process_data_send(sim, ecu, CLIENT, &p, delay_us);
}

static void start_task(struct farm_sim *sim, struct farm_ecu *ecu)
{
    int64_t delay_us = 5 * SPACING_US;

    sim->controller.connected = true;
    sim->controller.wants_work = false;
    for (unsigned i = 0; i < FARM_BINS; i++, delay_us += SPACING_US) {
        double rate_mg = sim->scenario->rate_kg_per_m2[i] * 1e6;
        struct command c = {FARM_COMMAND_VALUE, (uint8_t)(FARM_ELEMENT_BIN + i),
                            FARM_DDI_RATE_SETPOINT, (int32_t)farm_round(rate_mg)};
        send_command(sim, ecu, &c, delay_us);
    }
    for (size_t i = 0; i < sizeof subscriptions / sizeof *subscriptions; i++)
        send_command(sim, ecu, &subscriptions[i], delay_us + (int64_t)i * SPACING_US);
}

static void answer(struct farm_sim *sim, struct farm_ecu *ecu, const uint8_t *bytes, size_t count)
{
    farm_process_bytes_send(sim, ecu, CLIENT, bytes, count, ANSWER_US);
}

/* Version; boot time 10 s; documentation, TC-GEO, section control; booms, sections, channels. */
static void answer_version(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t version[] = {FARM_VERSION, FARM_VERSION_NUMBER, 10, 0x13, 0, 1, 6, 2};
    static const uint8_t request[] = {FARM_REQUEST_VERSION};

    answer(sim, ecu, version, sizeof version);
    farm_process_bytes_send(sim, ecu, CLIENT, request, sizeof request, ANSWER_US + SPACING_US);
}

/* The label of the description that it has stored; FF: none. */
static void answer_structure(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t structure[] = {FARM_STRUCTURE, FARM_STRUCTURE_LABEL};

    answer(sim, ecu, structure, sim->controller.stored ? sizeof structure : 1);
}

static void answer_localization(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t localization[] = {FARM_LOCALIZATION, FARM_LANGUAGE_BYTES};

    answer(sim, ecu, localization, sim->controller.stored ? sizeof localization : 1);
}

static void answer_client(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t first_byte)
{
    static const uint8_t allowed[] = {FARM_ALLOW_TRANSFER, 0};
    static const uint8_t activated[] = {FARM_ACTIVATED, 0, 0xFF, 0xFF, 0xFF, 0xFF, 0};

    switch (first_byte) {
    case FARM_REQUEST_VERSION:
        answer_version(sim, ecu);
        break;
    case FARM_REQUEST_STRUCTURE:
        answer_structure(sim, ecu);
        break;
    case FARM_REQUEST_LOCALIZATION:
        answer_localization(sim, ecu);
        break;
    case FARM_ASK_TRANSFER:
        answer(sim, ecu, allowed, sizeof allowed);
        break;
    case FARM_ACTIVATE:
        answer(sim, ecu, activated, sizeof activated);
        start_task(sim, ecu);
        break;
    default: /* values and reports need no answer */
        break;
    }
}

/* Error code 0, and the size in bytes. */
static void hear_transfer(struct farm_sim *sim, struct farm_ecu *ecu,
                          const struct farm_frame *frame)
{
    struct farm_controller *c = &sim->controller;
    uint8_t transferred[6] = {FARM_TRANSFERRED, 0};

    if (farm_id_source(frame->id) != CLIENT ||
        !farm_receiving_hear(sim, ecu, &c->receiving, frame))
        return;
    c->stored = true;
    farm_put32(transferred + 2, (uint32_t)c->receiving.length - 1);
    answer(sim, ecu, transferred, sizeof transferred);
}

static void hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    static const uint8_t language[8] = {FARM_LANGUAGE_BYTES, 0xFF, 0xFF};

    if (farm_is_request(ecu, frame, FARM_PGN_LANGUAGE))
        farm_ecu_send(sim, ecu, 6, FARM_PGN_LANGUAGE, FARM_GLOBAL, language, ANSWER_US);
    hear_transfer(sim, ecu, frame);
    if (!farm_is_process_data(ecu, frame) || farm_id_source(frame->id) != CLIENT)
        return;
    sim->controller.client_ns = sim->now_ns;
    answer_client(sim, ecu, frame->data[0]);
}

static void start(struct farm_sim *sim, struct farm_ecu *ecu)
{
    bool stored = sim->controller.stored || sim->scenario->description_stored;

    memset(&sim->controller, 0, sizeof sim->controller);
    sim->controller.stored = stored; /* outlasts a loss of power */
    sim->controller.start_ns = sim->now_ns;
    farm_ecu_request(sim, ecu, ecu->design->address, FARM_TRACTOR_ADDRESS, FARM_PGN_TIME_DATE);
}

/* Once after its start it asks everyone what they are: software, then identification. */
static void ask_who_is_there(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint32_t groups[] = {FARM_PGN_SOFTWARE, FARM_PGN_IDENTIFICATION};
    struct farm_controller *c = &sim->controller;
    int64_t due_ns = c->start_ns + ASK_AFTER_NS + (int64_t)c->asked * ASK_SPACING_NS;

    if (c->asked == sizeof groups / sizeof *groups || sim->now_ns < due_ns)
        return;
    farm_ecu_request(sim, ecu, ecu->design->address, FARM_GLOBAL, groups[c->asked++]);
}

/* Section control, much simplified: one state for the whole boom, by the field's border. */
static void tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    struct farm_controller *c = &sim->controller;

    ask_who_is_there(sim, ecu);
    if (sim->now_ns - c->client_ns > CLIENT_LOST_NS)
        c->connected = false;
    if (!c->connected || c->wants_work == sim->world.in_field)
        return;
    c->wants_work = sim->world.in_field;
    struct command set = {FARM_COMMAND_VALUE, FARM_ELEMENT_BOOM, FARM_DDI_WORK_STATE_SETPOINT,
                          c->wants_work};
    send_command(sim, ecu, &set, 0);
}

static bool compose_status(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    (void)ecu;
    data[0] = 0xF0u | FARM_COMMAND_STATUS;
    data[4] = sim->controller.connected ? FARM_STATUS_TOTALS_ACTIVE : 0;
    data[5] = 0; /* no command is being carried out, for nobody */
    data[6] = 0;
    return true;
}

/* What has been spread in all, of the bins in turn. */
static bool compose_total_request(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    unsigned bin = ecu->counter++ % FARM_BINS;
    struct farm_process_data ask = {.command = FARM_COMMAND_REQUEST_VALUE,
                                    .element = (uint16_t)(FARM_ELEMENT_BIN + bin),
                                    .ddi = FARM_DDI_TOTAL_MASS};

    farm_process_data_write(data, &ask);
    return sim->controller.connected;
}

static const struct farm_message messages[] = {
    {FARM_PGN_PROCESS_DATA, 3, FARM_GLOBAL, 2000, 5, compose_status},
    {FARM_PGN_PROCESS_DATA, 5, CLIENT, 5000, 1300, compose_total_request},
};

const struct farm_ecu_design farm_controller_design = {
    .name = {.industry_group = 2, .device_class = 0, .function = 130, .identity = 2104},
    .address = FARM_CONTROLLER_ADDRESS,
    .boot_ms = 2900,
    .clock_ppm = -60,
    .jitter_us = 3500,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
    .start = start,
    .tick = tick,
    .hear = hear,
};
