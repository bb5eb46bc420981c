/* ecu.c - see ecu.h. */
#include "farm/ecu.h"

#include <string.h>

#include "farm/maths.h"
#include "farm/simulation.h"
#include "farm/tell.h"

#define CLAIM_DELAY_MAX_US 153000 /* random 0..255 x 0.6 ms (J1939-81 4.4) */
/* After a claim, before other traffic: 250 ms, and a little for the claim to get onto the bus. */
#define CONTEST_TIME_NS (255 * FARM_NS_PER_MS)
#define ANSWER_US       900 /* an ECU needs about a millisecond to answer; common practice */
#define CLAIM_PRIORITY  6u

void farm_ecu_init(struct farm_ecu *ecu, const struct farm_ecu_design *design, enum farm_unit unit,
                   uint64_t seed)
{
    *ecu = (struct farm_ecu){.design = design,
                             .unit = unit,
                             .random = farm_random_start(seed, FARM_STREAM_ECU + (uint64_t)unit)};
}

uint64_t farm_ecu_name(const struct farm_ecu *ecu)
{
    return farm_name_number(&ecu->design->name);
}

void farm_ecu_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned priority, uint32_t pgn,
                   unsigned destination, const uint8_t data[8], int64_t delay_us)
{
    struct farm_frame frame =
        farm_frame_of(farm_id(priority, pgn, destination, ecu->design->address));

    if (!farm_sends_group(sim->scenario, ecu->unit, pgn, sim->now_ns))
        return;
    memcpy(frame.data, data, sizeof frame.data);
    farm_bus_send(&sim->bus, (int)ecu->unit, &frame, sim->now_ns + delay_us * FARM_NS_PER_US);
}

void farm_ecu_request(struct farm_sim *sim, struct farm_ecu *ecu, unsigned source,
                      unsigned destination, uint32_t pgn)
{
    struct farm_frame frame = {.id = farm_id(6, FARM_PGN_REQUEST, destination, source),
                               .length = 3,
                               .data = {(uint8_t)pgn, (uint8_t)(pgn >> 8), (uint8_t)(pgn >> 16)}};

    farm_bus_send(&sim->bus, (int)ecu->unit, &frame, sim->now_ns);
}

bool farm_is_request(const struct farm_ecu *ecu, const struct farm_frame *frame, uint32_t pgn)
{
    uint8_t destination = farm_id_destination(frame->id);
    uint32_t asked = farm_get16(frame->data) | (uint32_t)frame->data[2] << 16;

    return farm_id_group(frame->id) == FARM_PGN_REQUEST && frame->length == 3 && asked == pgn &&
           (destination == FARM_GLOBAL || destination == ecu->design->address);
}

static void send_name(struct farm_sim *sim, struct farm_ecu *ecu, unsigned source, int64_t delay_us)
{
    struct farm_frame frame =
        farm_frame_of(farm_id(CLAIM_PRIORITY, FARM_PGN_CLAIM, FARM_GLOBAL, source));

    farm_put64(frame.data, farm_ecu_name(ecu));
    farm_bus_send(&sim->bus, (int)ecu->unit, &frame, sim->now_ns + delay_us * FARM_NS_PER_US);
}

static void claim(struct farm_sim *sim, struct farm_ecu *ecu, int64_t delay_us)
{
    send_name(sim, ecu, ecu->design->address, delay_us);
}

static void cannot_claim(struct farm_sim *sim, struct farm_ecu *ecu)
{
    send_name(sim, ecu, FARM_NULL_ADDRESS, farm_random_below(&ecu->random, CLAIM_DELAY_MAX_US));
}

static void enter(struct farm_sim *sim, struct farm_ecu *ecu, enum farm_ecu_state state,
                  int64_t stay_ns)
{
    ecu->state = state;
    ecu->next_ns = sim->now_ns + stay_ns;
}

static void switch_off(struct farm_sim *sim, struct farm_ecu *ecu)
{
    ecu->state = FARM_ECU_OFF;
    farm_bus_forget(&sim->bus, (int)ecu->unit);
}

static void begin_to_run(struct farm_sim *sim, struct farm_ecu *ecu)
{
    const struct farm_ecu_design *d = ecu->design;

    enter(sim, ecu, FARM_ECU_RUNNING, 0);
    for (size_t i = 0; i < d->message_count; i++)
        ecu->due_ns[i] = sim->now_ns + d->messages[i].phase_ms * FARM_NS_PER_MS;
    if (d->start)
        d->start(sim, ecu);
}

static void send_due(struct farm_sim *sim, struct farm_ecu *ecu, size_t index)
{
    const struct farm_ecu_design *d = ecu->design;
    const struct farm_message *m = &d->messages[index];
    int64_t period_ns = m->period_ms * FARM_NS_PER_MS;
    int64_t late_us = (ecu->due_ns[index] - sim->now_ns) / FARM_NS_PER_US +
                      farm_random_below(&ecu->random, d->jitter_us);
    uint8_t data[8];

    memset(data, 0xFF, sizeof data);
    ecu->due_ns[index] += period_ns + period_ns / 1000000 * d->clock_ppm;
    if (m->compose(sim, ecu, data))
        farm_ecu_send(sim, ecu, m->priority, m->pgn, m->destination, data, late_us);
}

static void run(struct farm_sim *sim, struct farm_ecu *ecu)
{
    for (size_t i = 0; i < ecu->design->message_count; i++)
        if (ecu->due_ns[i] < sim->now_ns + FARM_STEP_NS)
            send_due(sim, ecu, i);
    if (ecu->design->tick)
        ecu->design->tick(sim, ecu);
}

/* What comes next where time alone decides. */
static void step_startup(struct farm_sim *sim, struct farm_ecu *ecu)
{
    switch (ecu->state) {
    case FARM_ECU_OFF:
        enter(sim, ecu, FARM_ECU_BOOTING, ecu->design->boot_ms * FARM_NS_PER_MS);
        break;
    case FARM_ECU_BOOTING:
        farm_ecu_request(sim, ecu, FARM_NULL_ADDRESS, FARM_GLOBAL, FARM_PGN_CLAIM);
        enter(sim, ecu, FARM_ECU_ASKING,
              farm_random_below(&ecu->random, CLAIM_DELAY_MAX_US) * FARM_NS_PER_US);
        break;
    case FARM_ECU_ASKING:
        claim(sim, ecu, 0);
        ecu->claim_ns = sim->now_ns;
        enter(sim, ecu, FARM_ECU_CLAIMED, CONTEST_TIME_NS);
        break;
    case FARM_ECU_CLAIMED:
        begin_to_run(sim, ecu);
        break;
    case FARM_ECU_RUNNING:
    case FARM_ECU_BEATEN:
        break;
    }
}

void farm_ecu_tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    if (!farm_has_power(sim->scenario, ecu->unit, sim->now_ns)) {
        if (ecu->state != FARM_ECU_OFF)
            switch_off(sim, ecu);
        return;
    }
    if (sim->now_ns >= ecu->next_ns)
        step_startup(sim, ecu);
    if (ecu->state == FARM_ECU_RUNNING)
        run(sim, ecu);
}

/*
 * Another claims the address: the lower NAME keeps it (J1939-81 4.4.3). The loser
 * gives up even where its NAME is self-configurable; no scenario needs more yet.
 */
static void contest(struct farm_sim *sim, struct farm_ecu *ecu, uint64_t name)
{
    if (farm_ecu_name(ecu) < name) {
        claim(sim, ecu, ANSWER_US);
        return;
    }
    farm_bus_forget(&sim->bus, (int)ecu->unit);
    enter(sim, ecu, FARM_ECU_BEATEN, 0);
    cannot_claim(sim, ecu);
}

static bool holds_address(const struct farm_ecu *ecu)
{
    return ecu->state == FARM_ECU_CLAIMED || ecu->state == FARM_ECU_RUNNING;
}

void farm_ecu_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    if (farm_is_request(ecu, frame, FARM_PGN_CLAIM)) {
        if (holds_address(ecu))
            claim(sim, ecu, ANSWER_US + farm_random_below(&ecu->random, ANSWER_US));
        else if (ecu->state == FARM_ECU_BEATEN)
            cannot_claim(sim, ecu);
    } else if (farm_id_group(frame->id) == FARM_PGN_CLAIM && holds_address(ecu) &&
               farm_id_source(frame->id) == ecu->design->address) {
        contest(sim, ecu, farm_get64(frame->data));
    } else if (ecu->state == FARM_ECU_RUNNING) {
        farm_tell_hear(sim, ecu, frame);
        if (ecu->design->hear)
            ecu->design->hear(sim, ecu, frame);
    }
}
