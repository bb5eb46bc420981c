/* implements.c - see implements.h. */
#include "tracking/implements.h"

#include <math.h>

#include "drawbar/name.h"
#include "drawbar/process_data.h"

/* After so long without a word to a controller a client has none (ISO 11783-10: it waits 6 s). */
#define ADOPT_NS (20 * NS_PER_S)

static uint8_t master_of(const struct implements *im, const struct ecus *ecus, uint8_t interface,
                         uint8_t address)
{
    const struct ecu *ecu = ecus->by_address[interface][address];

    if (!ecu || ecu->seen.name_count == 0)
        return address;
    int master = working_sets_master(&im->sets, interface,
                                     ecu->seen.names[ecu->seen.name_count - 1]);
    return master >= 0 ? (uint8_t)master : address;
}

static struct implement *find_implement(struct implements *im, uint8_t interface, uint8_t address)
{
    for (size_t i = 0; i < im->count; i++)
        if (im->items[i].seen.interface == interface && im->items[i].seen.address == address)
            return &im->items[i];
    return NULL;
}

static struct implement *get_implement(struct implements *im, uint8_t interface, uint8_t address,
                                       struct ecu *ecu, int64_t now)
{
    struct implement *i = find_implement(im, interface, address);

    if (i || !ecu)
        return i;
    if (im->count == DBR_IMPLEMENTS_MAX) {
        im->beyond++;
        return NULL;
    }
    i = &im->items[im->count++];
    *i = (struct implement){.ecu = ecu, .asks_alive = -1, .born_alive = ecu->alive_at_last};
    i->seen.interface = interface;
    i->seen.address = address;
    i->seen.first_ns = now;
    for (size_t k = 0; k < DBR_SPEED_SOURCES_MAX; k++)
        i->without_since_ns[k] = -1;
    for (size_t k = 0; k < DBR_WORK_EVIDENCES; k++)
        i->evidence_ns[k] = -1;
    return i;
}

bool implements_know_controller(const struct implements *im, uint8_t interface)
{
    return im->controllers[interface].seen;
}

bool implements_is_controller(const struct implements *im, uint8_t interface, uint8_t address)
{
    return im->controllers[interface].seen && im->controllers[interface].address == address;
}

/*
 * An implement that refuses what a controller wants. Byte 5 holds the reasons, FF
 * where it gives none; 0 means that it obeyed (ISO 11783-10).
 */
static void take_acknowledge(struct implements *im, const struct sighting *s)
{
    struct implement *i = find_implement(im, s->frame->interface, s->id.source);
    uint8_t bits = s->frame->data[4];

    if (!i || bits == 0)
        return;
    i->seen.refused++;
    if (bits != 0xFF)
        i->seen.refusal_bits |= bits;
}

/* Process data without values: who is a controller, and who asks for one. */
static void take_connection(struct implements *im, const struct sighting *s)
{
    enum dbr_process_command command = (enum dbr_process_command)(s->frame->data[0] & 0x0Fu);
    struct controller *c = &im->controllers[s->frame->interface];

    if (command == DBR_PROCESS_CONTROLLER_STATUS) {
        c->seen = true;
        c->address = s->id.source;
        c->status_ns = s->now_ns;
        c->status_alive = s->bus->alive_ns;
        return;
    }
    if (command == DBR_PROCESS_ACKNOWLEDGE)
        take_acknowledge(im, s);
    bool asks = command == DBR_PROCESS_CLIENT_TASK || command == DBR_PROCESS_TECHNICAL ||
                command == DBR_PROCESS_DEVICE_DESCRIPTOR;
    if (!asks || implements_is_controller(im, s->frame->interface, s->id.source))
        return;
    struct implement *i =
        get_implement(im, s->frame->interface, s->id.source, s->ecu, s->now_ns);
    if (i && i->asks_alive < 0)
        i->asks_alive = s->bus->alive_ns;
}

bool implements_concern(uint32_t pgn)
{
    return pgn == DBR_PGN_PROCESS_DATA || pgn == PGN_WORKING_SET_MASTER ||
           pgn == PGN_WORKING_SET_MEMBER;
}

void implements_frame(struct implements *im, const struct sighting *s)
{
    if (!s->ecu || s->frame->length < 8)
        return;
    working_sets_frame(&im->sets, s);
    if (s->id.pgn == DBR_PGN_PROCESS_DATA)
        take_connection(im, s);
    else if (s->id.pgn == PGN_WORKING_SET_MASTER && dbr_ecu_is_implement(&s->ecu->seen))
        get_implement(im, s->frame->interface, s->id.source, s->ecu, s->now_ns);
}

static struct element *find_element(struct implements *im, struct implement *i, uint16_t number)
{
    for (size_t e = 0; e < i->element_count; e++)
        if (i->elements[e].number == number)
            return &i->elements[e];
    if (i->element_count == DBR_IMPLEMENT_ELEMENTS_MAX) {
        im->beyond++;
        return NULL;
    }
    i->elements[i->element_count] = (struct element){.number = number};
    return &i->elements[i->element_count++];
}

static void take_quantity(struct element *e, const struct role_value *v, int64_t now)
{
    double value = v->status == DBR_VALUE_VALID ? v->si : (double)NAN;

    e->by_mass = e->by_mass || v->by_mass;
    if (v->role == DBR_ROLE_RATE_SETPOINT) {
        e->asked = v->status == DBR_VALUE_VALID;
        e->setpoint = value;
    } else if (v->role == DBR_ROLE_RATE_ACTUAL) {
        e->told = true;
        e->actual = value;
        e->told_ns = now;
    } else {
        e->has_meter = v->status == DBR_VALUE_VALID;
        e->meter = value;
        e->meter_ns = now;
    }
}

/* Two bits a section: 01 is on, 00 off, others say nothing (ISO 11783-11). */
static enum dbr_answer any_section(uint64_t raw)
{
    enum dbr_answer answer = DBR_ANSWER_UNKNOWN;

    for (unsigned i = 0; i < 16; i++) {
        unsigned state = raw >> 2 * i & 3u;
        if (state == 1)
            return DBR_ANSWER_HELD;
        if (state == 0)
            answer = DBR_ANSWER_FAILED;
    }
    return answer;
}

static enum dbr_answer on_or_off(const struct role_value *v)
{
    if (v->status != DBR_VALUE_VALID || v->raw > 1)
        return DBR_ANSWER_UNKNOWN;
    return v->raw == 1 ? DBR_ANSWER_HELD : DBR_ANSWER_FAILED;
}

/* Roles that only an implement has: who speaks of them, or is spoken of, is one. */
static bool belongs_to_implement(enum dbr_role role)
{
    switch ((int)role) {
    case DBR_ROLE_SPEED_IMPLEMENT:
    case DBR_ROLE_WORK_STATE:
    case DBR_ROLE_WORK_SETPOINT:
    case DBR_ROLE_SECTIONS_ACTUAL:
    case DBR_ROLE_SECTIONS_SETPOINT:
    case DBR_ROLE_RATE_SETPOINT:
    case DBR_ROLE_RATE_ACTUAL:
    case DBR_ROLE_METER_SPEED:
        return true;
    default:
        return false;
    }
}

static enum dbr_answer take_state(struct implements *im, struct element_states *states,
                                  const struct role_value *v, enum dbr_answer answer)
{
    im->beyond += !element_states_tell(states, v, answer);
    return element_states_any(states);
}

/* DDI 141: 0 off, 1 on, 2 in error, 3 not installed (ISO 11783-11), which tells nothing. */
static void take_work_state(struct implements *im, struct implement *i, const struct role_value *v)
{
    bool installed = v->ddi != DBR_DDI_ACTUAL_WORK_STATE || v->raw != 3;
    bool error = v->status == DBR_VALUE_ERROR || (v->status == DBR_VALUE_VALID && v->raw == 2);

    i->work_state = take_state(im, &i->work_states, v, on_or_off(v));
    i->work_state_told = i->work_state_told || installed;
    if (installed)
        i->work_state_error = error && i->work_state == DBR_ANSWER_UNKNOWN;
}

/* A wheel that turned until the state went off is not why it went off. */
static void note_state(struct implement *i, const struct speeds *speeds, int64_t now)
{
    const struct source *own = speeds_own(speeds, i->seen.interface, i->seen.address);
    enum dbr_answer state = i->work_state_told ? i->work_state : i->sections_on;

    if (state == i->state)
        return;
    i->put_off = i->state == DBR_ANSWER_HELD && state == DBR_ANSWER_FAILED && own &&
                 source_is_fresh(own, now) && own->mps >= STILL_MPS;
    i->state = state;
    i->state_ns = now;
    i->was_on = i->was_on || state == DBR_ANSWER_HELD;
}

static void take_value(struct implements *im, struct implement *i, const struct role_value *v,
                       int64_t now)
{
    struct element *e;

    switch ((int)v->role) {
    case DBR_ROLE_WORK_STATE:
        take_work_state(im, i, v);
        break;
    case DBR_ROLE_WORK_SETPOINT:
        i->work_setpoint = take_state(im, &i->work_setpoints, v, on_or_off(v));
        break;
    case DBR_ROLE_SECTIONS_ACTUAL:
        i->sections_on = take_state(im, &i->sections, v, any_section(v->raw));
        break;
    case DBR_ROLE_SECTIONS_SETPOINT:
        i->sections_wanted =
            take_state(im, &i->section_setpoints, v, any_section(v->raw));
        break;
    case DBR_ROLE_RATE_SETPOINT:
    case DBR_ROLE_RATE_ACTUAL:
    case DBR_ROLE_METER_SPEED:
        e = find_element(im, i, v->element);
        if (e)
            take_quantity(e, v, now);
        break;
    default:
        break;
    }
}

void implements_value(struct implements *im, const struct ecus *ecus, const struct speeds *speeds,
                      const struct sighting *s, const struct role_value *v)
{
    uint8_t interface = s->frame->interface;

    if (!belongs_to_implement(v->role))
        return;
    uint8_t master = master_of(im, ecus, interface, v->subject);
    struct implement *i = get_implement(im, interface, master,
                                        ecus->by_address[interface][master], s->now_ns);
    if (!i)
        return;
    take_value(im, i, v, s->now_ns);
    note_state(i, speeds, s->now_ns);
}

/* Set-points of rates stay as they were: they change with the map or the operator, not with
 * every turn. */
static void forget_states(struct implement *i)
{
    i->work_states.count = i->work_setpoints.count = 0;
    i->sections.count = i->section_setpoints.count = 0;
    i->work_state = i->work_setpoint = i->state = DBR_ANSWER_UNKNOWN;
    i->sections_wanted = i->sections_on = DBR_ANSWER_UNKNOWN;
    i->work_state_told = i->work_state_error = i->put_off = false;
}

void implements_resume(struct implements *im, uint8_t interface)
{
    for (size_t k = 0; k < im->count; k++)
        if (im->items[k].seen.interface == interface)
            forget_states(&im->items[k]);
}

void implements_tell_idle(const struct implements *im, struct work *w)
{
    for (size_t k = 0; k < im->count; k++) {
        const struct implement *i = &im->items[k];
        w->idle[i->seen.interface][i->seen.address] = implement_is_idle(i);
    }
}

/* What an ECU with an implement's NAME is good for as the one that meters: more is better. */
static int candidate_rank(const struct implements *im, const struct ecu *ecu)
{
    if (!dbr_ecu_is_implement(&ecu->seen))
        return 0;
    uint64_t name = ecu->seen.names[ecu->seen.name_count - 1];
    if (working_sets_master(&im->sets, ecu->seen.interface, name) >= 0)
        return 0;
    /* functions of implements: 128 rate control, 132 machine control (ISO 11783-1) */
    uint8_t function = dbr_name_split(name).function;
    return function == 128 ? 3 : function == 132 ? 2 : 1;
}

/* Clients of a task controller say nothing until they hear one: where none is there, the chain
 * is told of the ECU that most likely meters. */
static void adopt_silent_client(struct implements *im, const struct surroundings *around,
                                int64_t now)
{
    struct ecu *best = NULL;
    int best_rank = 0;

    for (size_t i = 0; i < around->ecus->count; i++) {
        struct ecu *ecu = around->ecus->items[i];
        int rank = candidate_rank(im, ecu);
        if (rank > best_rank && now - ecu->seen.first_ns > ADOPT_NS) {
            best = ecu;
            best_rank = rank;
        }
    }
    if (best)
        get_implement(im, best->seen.interface, best->seen.address, best, best->seen.first_ns);
}

int64_t implements_tick(struct implements *im, const struct surroundings *around, int64_t now)
{
    if (now < im->next_tick_ns)
        return im->next_tick_ns;
    im->next_tick_ns = now - now % IMPLEMENTS_TICK_NS + IMPLEMENTS_TICK_NS;
    if (im->count == 0)
        adopt_silent_client(im, around, now);
    for (size_t i = 0; i < im->count; i++)
        implement_judge(im, &im->items[i], around, now);
    return im->next_tick_ns;
}

void implements_finish(struct implements *im, const struct surroundings *around, int64_t end_ns)
{
    for (size_t k = 0; k < im->count; k++) {
        struct implement *i = &im->items[k];
        implement_judge(im, i, around, end_ns);
        implement_finish(i, around, end_ns);
    }
}
