/*
 * play.c - see play.h.
 *
 * Every ECU boots (asks for addresses from the null address, claims its own,
 * waits 250 ms: ISO 11783-5), then sends its messages by timers of its own, each a
 * little fast or slow and with jitter. Answers to requests and to contested claims
 * are given as they come over the bus.
 */
#include "play.h"

#include <string.h>

#include "machine.h"
#include "random.h"

#define ECUS_MAX 16u
#define MESSAGES_MAX 32u
#define ONCE_MAX 64u
#define US 1000000.0

#define PGN_REQUEST 59904u
#define PGN_CLAIM 60928u
#define CLAIM_WAIT_S 0.25

struct ecu {
    uint8_t address;
    uint64_t name;
    bool on, claimed, beaten; /* beaten: lost its address for good */
    double clock;             /* its second in true seconds */
    double boot_s;            /* next boot; NEVER: none ahead */
    double on_bus_s;          /* may send from then on */
};

struct message {
    const struct message_kind *kind;
    struct ecu *ecu;
    double due_s;
    uint32_t count;
};

/* A frame that is sent once, at its time. */
struct once {
    double at_s;
    struct ecu *ecu; /* that must be on then; NULL: nobody in particular */
    struct wire_frame frame;
    bool needs_address; /* only while the ECU holds its address */
};

struct play {
    const struct scenario *scenario;
    struct random random;
    struct world world;
    struct wire wire;
    size_t ecu_count, message_count, once_count;
    struct ecu ecus[ECUS_MAX];
    struct message messages[MESSAGES_MAX];
    struct once onces[ONCE_MAX];
    struct message_kind newcomer_message;
    bool overrun;
};

static const struct fault *fault_at(const struct play *p, enum fault_kind kind, uint8_t address,
                                    double t)
{
    for (size_t i = 0; i < p->scenario->fault_count; i++) {
        const struct fault *f = &p->scenario->faults[i];
        if (f->kind == kind && f->address == address && t >= f->from_s && t < f->until_s)
            return f;
    }
    return NULL;
}

static void send_once(struct play *p, double at_s, struct ecu *ecu, bool needs_address,
                      uint32_t id, const uint8_t *data, uint8_t length)
{
    if (p->once_count == ONCE_MAX) {
        p->overrun = true;
        return;
    }
    struct once *o = &p->onces[p->once_count++];
    *o = (struct once){.at_s = at_s, .ecu = ecu, .needs_address = needs_address};
    o->frame.id = id;
    o->frame.length = length;
    memcpy(o->frame.data, data, length);
}

static void send_claim(struct play *p, double at_s, struct ecu *ecu, uint8_t from)
{
    uint8_t data[8];

    for (unsigned i = 0; i < 8; i++)
        data[i] = (uint8_t)(ecu->name >> (8 * i));
    send_once(p, at_s, ecu, from != ADDRESS_NULL, machine_id(6, PGN_CLAIM, ADDRESS_ALL, from),
              data, 8);
}

static void start_messages(struct play *p, struct ecu *ecu)
{
    for (size_t i = 0; i < p->message_count; i++) {
        struct message *m = &p->messages[i];
        if (m->ecu == ecu)
            m->due_s = ecu->on_bus_s + m->kind->after_s + random_between(&p->random, 0, 0.05);
    }
    for (size_t i = 0; i < dialogue_count; i++) {
        const struct dialogue_step *step = &dialogue[i];
        if (ecu->address == ADDRESS_SPREADER)
            send_once(p, ecu->on_bus_s + step->after_s + random_between(&p->random, 0, 0.01),
                      NULL, false,
                      machine_id(step->priority, step->pgn, step->destination, step->sender),
                      step->data, 8);
    }
}

static void boot(struct play *p, struct ecu *ecu, double now)
{
    static const uint8_t wanted[3] = {0x00, 0xEE, 0x00};
    double ask_s = now + random_between(&p->random, 0.12, 0.3);
    double claim_s = ask_s + random_between(&p->random, 0.01, 0.06);

    ecu->on = true;
    ecu->boot_s = NEVER;
    ecu->on_bus_s = claim_s + CLAIM_WAIT_S;
    send_once(p, ask_s, ecu, false, machine_id(6, PGN_REQUEST, ADDRESS_ALL, ADDRESS_NULL), wanted,
              3);
    send_claim(p, claim_s, ecu, ecu->address);
    start_messages(p, ecu);
}

static struct ecu *add_ecu(struct play *p, uint8_t address, uint64_t name, double boot_s)
{
    struct ecu *ecu = &p->ecus[p->ecu_count++];

    *ecu = (struct ecu){.address = address, .name = name, .boot_s = boot_s};
    ecu->clock = 1 + random_between(&p->random, -60e-6, 60e-6); /* crystals: some 50 ppm */
    return ecu;
}

static void add_message(struct play *p, const struct message_kind *kind, struct ecu *ecu)
{
    p->messages[p->message_count++] = (struct message){.kind = kind, .ecu = ecu, .due_s = NEVER};
}

static void fill_newcomer(const struct world *w, uint32_t count, uint8_t data[8])
{
    (void)w;
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)(48 + count % 3);
}

static void add_newcomer(struct play *p, const struct fault *f)
{
    struct ecu *ecu = add_ecu(p, f->address, NEWCOMER_NAME, f->from_s);

    p->newcomer_message = (struct message_kind){f->address, ADDRESS_ALL, 6,  NEWCOMER_PGN,
                                                0.25,       0.3,         fill_newcomer, false};
    add_message(p, &p->newcomer_message, ecu);
}

static void set_up(struct play *p, const struct scenario *scenario)
{
    *p = (struct play){.scenario = scenario,
                       .random = random_seed(scenario->seed),
                       .world = world_start(scenario->seed + 1000)};
    for (size_t i = 0; i < ecu_kind_count; i++) {
        struct ecu *ecu =
            add_ecu(p, ecu_kinds[i].address, ecu_kinds[i].name, ecu_kinds[i].power_on_s);
        for (size_t k = 0; k < message_kind_count; k++)
            if (message_kinds[k].sender == ecu->address)
                add_message(p, &message_kinds[k], ecu);
    }
    for (size_t i = 0; i < scenario->fault_count; i++)
        if (scenario->faults[i].kind == FAULT_NEWCOMER)
            add_newcomer(p, &scenario->faults[i]);
}

/* Supply gone: silent at once. Supply back: boots. */
static void watch_supply(struct play *p, struct ecu *ecu, double now)
{
    const struct fault *off = fault_at(p, FAULT_ECU_OFF, ecu->address, now);

    if (off && ecu->on) {
        ecu->on = ecu->claimed = false;
        ecu->boot_s = off->until_s;
    }
    if (!off && !ecu->on && now >= ecu->boot_s)
        boot(p, ecu, now);
}

static bool may_send(const struct play *p, const struct message *m, double now)
{
    if (!m->ecu->on || !m->ecu->claimed || m->ecu->beaten)
        return false;
    return !(m->kind->axle && fault_at(p, FAULT_AXLE_MUTE, m->ecu->address, now));
}

static void offer(struct play *p, struct wire_frame frame, double at_s)
{
    frame.at_us = (int64_t)(at_s * US);
    p->overrun = p->overrun || !wire_offer(&p->wire, &frame);
}

static void send_message(struct play *p, struct message *m)
{
    struct wire_frame frame = {.length = 8};
    double now = m->due_s;

    m->due_s += m->kind->period_s * m->ecu->clock;
    if (!may_send(p, m, now))
        return;
    world_step(&p->world, now, fault_at(p, FAULT_AXLE_DEAD, ADDRESS_SPREADER, now) != NULL);
    m->kind->fill(&p->world, m->count++, frame.data);
    frame.id = machine_id(m->kind->priority, m->kind->pgn, m->kind->destination, m->kind->sender);
    offer(p, frame, now + random_between(&p->random, 0, 0.0015));
}

static void send_due_once(struct play *p, size_t index)
{
    struct once o = p->onces[index];
    struct ecu *ecu = o.ecu;

    p->onces[index] = p->onces[--p->once_count];
    if (ecu && (!ecu->on || (o.needs_address && ecu->beaten)))
        return;
    offer(p, o.frame, o.at_s);
}

/* Time of the next thing that happens off the bus. */
static double next_due(const struct play *p)
{
    double next = NEVER;

    for (size_t i = 0; i < p->message_count; i++)
        if (p->messages[i].due_s < next)
            next = p->messages[i].due_s;
    for (size_t i = 0; i < p->once_count; i++)
        if (p->onces[i].at_s < next)
            next = p->onces[i].at_s;
    for (size_t i = 0; i < p->ecu_count; i++)
        if (p->ecus[i].boot_s < next)
            next = p->ecus[i].boot_s;
    return next;
}

/* Lets everything happen that is due at `now`. */
static void happen(struct play *p, double now)
{
    for (size_t i = 0; i < p->ecu_count; i++)
        watch_supply(p, &p->ecus[i], now);
    for (size_t i = 0; i < p->once_count;)
        if (p->onces[i].at_s <= now)
            send_due_once(p, i);
        else
            i++;
    for (size_t i = 0; i < p->message_count; i++)
        if (p->messages[i].due_s <= now)
            send_message(p, &p->messages[i]);
}

static uint64_t name_in(const struct wire_frame *frame)
{
    uint64_t name = 0;

    for (unsigned i = 8; i-- > 0;)
        name = name << 8 | frame->data[i];
    return name;
}

/* A claim was on the bus: its sender holds the address, unless another one has a lower NAME. */
static void hear_claim(struct play *p, const struct wire_frame *frame, double now)
{
    uint64_t name = name_in(frame);
    uint8_t address = (uint8_t)frame->id;

    for (size_t i = 0; i < p->ecu_count; i++) {
        struct ecu *ecu = &p->ecus[i];
        if (ecu->name == name) {
            ecu->claimed = address != ADDRESS_NULL;
        } else if (ecu->address == address && ecu->on && ecu->claimed && !ecu->beaten) {
            if (ecu->name < name) {
                send_claim(p, now + random_between(&p->random, 0.001, 0.004), ecu, address);
                continue;
            }
            ecu->beaten = true;
            send_claim(p, now + random_between(&p->random, 0.002, 0.15), ecu, ADDRESS_NULL);
        }
    }
}

static void hear_request(struct play *p, double now)
{
    for (size_t i = 0; i < p->ecu_count; i++)
        if (p->ecus[i].on && p->ecus[i].claimed && !p->ecus[i].beaten)
            send_claim(p, now + random_between(&p->random, 0.001, 0.02), &p->ecus[i],
                       p->ecus[i].address);
}

static void hear(struct play *p, const struct wire_frame *frame)
{
    double now = (double)frame->at_us / US;
    uint32_t pgn = frame->id >> 8 & 0x3FF00u;

    if (pgn == PGN_CLAIM)
        hear_claim(p, frame, now);
    else if (pgn == PGN_REQUEST && frame->data[1] == 0xEE)
        hear_request(p, now);
}

/* What the recorder's controller says on its way off the bus and back (linux/can/error.h). */
static bool record_errors(const struct play *p, int64_t *said_us, int64_t until_us,
                          play_sink *sink, void *context)
{
    static const struct {
        double at_s; /* before the bus-off; the last row: at the restart */
        uint32_t classes;
        uint8_t data[8];
    } words[] = {
        {-0.42, 0x088, {0, 0, 0x84, 0x0A, 0, 0, 0, 0}},
        {-0.41, 0x204, {0, 0x08, 0, 0, 0, 0, 96, 0}},
        {-0.20, 0x088, {0, 0, 0x84, 0x0A, 0, 0, 0, 0}},
        {-0.19, 0x204, {0, 0x20, 0, 0, 0, 0, 128, 0}},
        {-0.02, 0x088, {0, 0, 0x84, 0x08, 0, 0, 0, 0}},
        {0, 0x040, {0, 0, 0, 0, 0, 0, 0, 0}},
    };
    const struct wire_frame restarted = {.id = 0x100, .length = 8, .error = true};

    for (size_t i = 0; i < p->scenario->fault_count; i++) {
        const struct fault *f = &p->scenario->faults[i];
        if (f->kind != FAULT_RECORDER_OFF)
            continue;
        for (size_t k = 0; k <= sizeof words / sizeof words[0]; k++) {
            bool last = k == sizeof words / sizeof words[0];
            struct wire_frame frame = restarted;
            frame.at_us = (int64_t)(US * (last ? f->until_s : f->from_s + words[k].at_s));
            if (!last) {
                frame.id = words[k].classes;
                memcpy(frame.data, words[k].data, 8);
            }
            if (frame.at_us > *said_us && frame.at_us <= until_us && !sink(context, &frame))
                return false;
        }
    }
    *said_us = until_us;
    return true;
}

bool play(const struct scenario *scenario, play_sink *sink, void *context)
{
    struct play p;
    int64_t said_us = 0;

    set_up(&p, scenario);
    while (!p.overrun) {
        double due_s = next_due(&p);
        int64_t bus_us = wire_next_us(&p.wire);
        if (due_s * US <= (double)bus_us) {
            if (due_s >= scenario->seconds)
                return true;
            happen(&p, due_s);
            continue;
        }
        struct wire_frame frame = wire_send(&p.wire);
        hear(&p, &frame);
        if (!record_errors(&p, &said_us, frame.at_us, sink, context))
            return false;
        bool deaf = fault_at(&p, FAULT_RECORDER_OFF, 0, (double)frame.at_us / US) != NULL;
        if (!deaf && !sink(context, &frame))
            return false;
    }
    return false;
}
