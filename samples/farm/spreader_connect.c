/*
 * spreader_connect.c - the belt controller finds its task controller (ISO 11783-10).
 *
 * Each step waits for one answer and sends the next question. Where the task controller
 * has the description stored, it is only activated, else sent first.
 */
#include <stddef.h>

#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/process_data.h"
#include "farm/simulation.h"

#define SETTLING_NS        (6 * FARM_NS_PER_S) /* after the claim, ISO 11783-10 */
#define CONTROLLER_LOST_NS (6 * FARM_NS_PER_S) /* without its status, ISO 11783-10 */
#define MEMBER_SPACING_US  100000              /* common practice */
#define ANSWER_US          6000

#define CONTROLLER FARM_CONTROLLER_ADDRESS

static const enum farm_unit members[] = {FARM_UNIT_WEIGHER, FARM_UNIT_LEFT_BOOM,
                                         FARM_UNIT_RIGHT_BOOM};
#define MEMBER_COUNT (sizeof members / sizeof *members)

static void ask(struct farm_sim *sim, struct farm_ecu *ecu, const uint8_t *bytes, size_t count,
                int64_t delay_us)
{
    farm_process_bytes_send(sim, ecu, CONTROLLER, bytes, count, delay_us);
}

static void ask_byte(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t byte)
{
    ask(sim, ecu, &byte, 1, ANSWER_US);
}

/* PGN 65037: how many belong to the set, master included; PGN 65036: the NAMEs of the others. */
static void announce_set(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t master[8] = {MEMBER_COUNT + 1, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};

    farm_ecu_send(sim, ecu, 7, FARM_PGN_SET_MASTER, FARM_GLOBAL, master, 0);
    for (size_t i = 0; i < MEMBER_COUNT; i++) {
        uint8_t name[8];
        farm_put64(name, farm_name_number(&farm_designs[members[i]]->name));
        farm_ecu_send(sim, ecu, 7, FARM_PGN_SET_MEMBER, FARM_GLOBAL, name,
                      (int64_t)(i + 1) * MEMBER_SPACING_US);
    }
}

static void introduce(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t request[] = {FARM_REQUEST_VERSION};

    announce_set(sim, ecu);
    ask(sim, ecu, request, sizeof request, ((int64_t)MEMBER_COUNT + 1) * MEMBER_SPACING_US);
    sim->spreader.connection = FARM_WAIT_VERSION;
}

/* Version; no boot time told; documentation, section control; booms, sections, channels. */
static void tell_version(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t version[] = {FARM_VERSION, FARM_VERSION_NUMBER, 0xFF, 0x11, 0, 1, 6, 2};

    ask(sim, ecu, version, sizeof version, ANSWER_US);
}

static void ask_localization(struct farm_sim *sim, struct farm_ecu *ecu)
{
    sim->spreader.connection = FARM_WAIT_LOCALIZATION;
    ask_byte(sim, ecu, FARM_REQUEST_LOCALIZATION);
}

/* The size in bytes of what follows. */
static void ask_transfer(struct farm_sim *sim, struct farm_ecu *ecu)
{
    struct farm_sending *s = &sim->spreader.sending;
    uint8_t request[5] = {FARM_ASK_TRANSFER};

    s->destination = CONTROLLER;
    s->pgn = FARM_PGN_PROCESS_DATA;
    s->data[0] = FARM_TRANSFER;
    s->length = 1;
    farm_spreader_pool(s);
    farm_put32(request + 1, (uint32_t)s->length - 1);
    sim->spreader.connection = FARM_WAIT_ALLOWED;
    ask(sim, ecu, request, sizeof request, ANSWER_US);
}

static void activate(struct farm_sim *sim, struct farm_ecu *ecu)
{
    static const uint8_t request[] = {FARM_ACTIVATE, 0xFF};

    sim->spreader.connection = FARM_WAIT_ACTIVATED;
    ask(sim, ecu, request, sizeof request, ANSWER_US);
}

static void hear_controller(struct farm_sim *sim, struct farm_ecu *ecu, const uint8_t data[8])
{
    struct farm_spreader *s = &sim->spreader;

    if ((data[0] & 0x0Fu) == FARM_COMMAND_STATUS) {
        s->status_ns = sim->now_ns;
        if (s->connection == FARM_WAIT_STATUS)
            introduce(sim, ecu);
    } else if (data[0] == FARM_REQUEST_VERSION) {
        tell_version(sim, ecu);
    } else if (data[0] == FARM_VERSION && s->connection == FARM_WAIT_VERSION) {
        s->connection = FARM_WAIT_STRUCTURE;
        ask_byte(sim, ecu, FARM_REQUEST_STRUCTURE);
    } else if (data[0] == FARM_STRUCTURE && s->connection == FARM_WAIT_STRUCTURE) {
        s->known = data[1] != 0xFF;
        s->connection = FARM_WAIT_LANGUAGE;
        farm_ecu_request(sim, ecu, ecu->design->address, CONTROLLER, FARM_PGN_LANGUAGE);
    } else if (data[0] == FARM_LOCALIZATION && s->connection == FARM_WAIT_LOCALIZATION) {
        if (s->known)
            activate(sim, ecu);
        else
            ask_transfer(sim, ecu);
    } else if (data[0] == FARM_ALLOW_TRANSFER && s->connection == FARM_WAIT_ALLOWED) {
        s->connection = FARM_WAIT_TRANSFERRED;
        farm_sending_start(sim, ecu, &s->sending);
    } else if (data[0] == FARM_TRANSFERRED && s->connection == FARM_WAIT_TRANSFERRED) {
        activate(sim, ecu);
    } else if (data[0] == FARM_ACTIVATED && s->connection == FARM_WAIT_ACTIVATED) {
        s->connection = FARM_CONNECTED;
    } else if (s->connection == FARM_CONNECTED && (data[0] & 0x0Fu) >= FARM_COMMAND_REQUEST_VALUE) {
        struct farm_process_data p = farm_process_data_read(data);
        farm_report_command(sim, ecu, &p);
    }
}

void farm_connect_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    if (farm_id_source(frame->id) != CONTROLLER)
        return;
    farm_sending_hear(sim, ecu, &sim->spreader.sending, frame);
    if (farm_is_process_data(ecu, frame))
        hear_controller(sim, ecu, frame->data);
    else if (farm_id_group(frame->id) == FARM_PGN_LANGUAGE &&
             sim->spreader.connection == FARM_WAIT_LANGUAGE)
        ask_localization(sim, ecu);
}

bool farm_connect_announced(const struct farm_spreader *s)
{
    return s->connection > FARM_WAIT_STATUS;
}

void farm_connect_tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    struct farm_spreader *s = &sim->spreader;

    if (s->connection == FARM_WAIT_SETTLED && sim->now_ns - ecu->claim_ns >= SETTLING_NS)
        s->connection = FARM_WAIT_STATUS;
    if (farm_connect_announced(s) && sim->now_ns - s->status_ns > CONTROLLER_LOST_NS) {
        s->connection = FARM_WAIT_STATUS;
        sim->metering.wanted = false; /* no task controller, no set-point */
    }
}
