/* implements.c - see implements.h. */
#include "tracking/implements.h"

#include <math.h>

#include "drawbar/name.h"
#include "drawbar/process_data.h"

#define TICK_NS (NS_PER_S / 2)

/* Contract: rate-missing and coverage-missing. */
#define MISSING_NS (5 * NS_PER_S)

/* After so long without a word to a controller a client has none (ISO 11783-10: it waits 6 s). */
#define ADOPT_NS (20 * NS_PER_S)

/* Meters need a moment to come up to speed, and values come once a second: 3 s. */
#define STEADY_TICKS 6u

#define PGN_WORKING_SET_MEMBER 65036u /* ISO 11783-7 */
#define PGN_WORKING_SET_MASTER 65037u

/* A change of state that lasts less is told as the states around it: values come once a second. */
#define SHORT_NS NS_PER_S

static uint8_t master_of(const struct implements *im, const struct ecus *ecus, uint8_t interface,
                         uint8_t address)
{
    const struct ecu *ecu = ecus->by_address[interface][address];

    for (size_t i = 0; ecu && ecu->seen.name_count > 0 && i < im->member_count; i++)
        if (im->members[i].interface == interface &&
            im->members[i].name == ecu->seen.names[ecu->seen.name_count - 1])
            return im->members[i].master;
    return address;
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
    return i;
}

bool implements_is_controller(const struct implements *im, uint8_t interface, uint8_t address)
{
    return im->controllers[interface].seen && im->controllers[interface].address == address;
}

static void take_member(struct implements *im, const struct sighting *s)
{
    uint64_t name = dbr_name_from_bytes(s->frame->data);

    for (size_t i = 0; i < im->member_count; i++)
        if (im->members[i].name == name && im->members[i].interface == s->frame->interface) {
            im->members[i].master = s->id.source;
            return;
        }
    if (im->member_count == DBR_MEMBERS_MAX) {
        im->beyond++;
        return;
    }
    im->members[im->member_count++] =
        (struct member){s->frame->interface, s->id.source, name};
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

void implements_frame(struct implements *im, const struct sighting *s)
{
    if (!s->ecu || s->frame->length < 8)
        return;
    if (s->id.pgn == DBR_PGN_PROCESS_DATA)
        take_connection(im, s);
    else if (s->id.pgn == PGN_WORKING_SET_MEMBER)
        take_member(im, s);
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

static void take_value(struct implements *im, struct implement *i, const struct role_value *v,
                       int64_t now)
{
    struct element *e;

    switch ((int)v->role) {
    case DBR_ROLE_WORK_STATE:
        i->work_state = on_or_off(v);
        i->work_state_told = true;
        break;
    case DBR_ROLE_WORK_SETPOINT:
        i->work_setpoint = on_or_off(v);
        break;
    case DBR_ROLE_SECTIONS_ACTUAL:
        i->sections_on = any_section(v->raw);
        break;
    case DBR_ROLE_SECTIONS_SETPOINT:
        i->sections_wanted = any_section(v->raw);
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

void implements_value(struct implements *im, const struct ecus *ecus, const struct sighting *s,
                      const struct role_value *v)
{
    uint8_t interface = s->frame->interface;

    if (!belongs_to_implement(v->role))
        return;
    uint8_t master = master_of(im, ecus, interface, v->subject);
    struct implement *i = get_implement(im, interface, master,
                                        ecus->by_address[interface][master], s->now_ns);
    if (i)
        take_value(im, i, v, s->now_ns);
}

/* Goes on with the last interval, or begins another; very short ones are swallowed. */
static void tell(struct dbr_link_story *story, struct link_answer a, int64_t now)
{
    struct dbr_link_interval *last = story->count ? &story->items[story->count - 1] : NULL;

    if (last)
        last->end_ns = now;
    if (last && last->answer == a.answer && last->reason == a.reason)
        return;
    if (last && now - last->start_ns < SHORT_NS && story->count > 1) {
        struct dbr_link_interval *before = last - 1;
        if (before->answer == a.answer && before->reason == a.reason) {
            before->end_ns = now;
            story->count--;
            return;
        }
    }
    if (story->count == DBR_LINK_INTERVALS_MAX) {
        story->folded++;
        return;
    }
    story->items[story->count++] = (struct dbr_link_interval){a.answer, a.reason, now, now};
}

/* Elements that are asked for a rate and tell none. */
static unsigned lacking(const struct implement *i)
{
    unsigned count = 0;

    for (size_t e = 0; e < i->element_count; e++) {
        const struct element *el = &i->elements[e];
        count += el->asked && el->setpoint > 0 && el->told && !(el->actual > 0);
    }
    return count;
}

static void judge_rate(struct implement *i, const struct surroundings *around, bool works,
                       int64_t now)
{
    unsigned missing = works ? lacking(i) : 0;

    if (missing == 0) {
        watch_end(&i->rate_missing, &i->seen.rate_missing, now, MISSING_NS);
        return;
    }
    struct dbr_spell *spell = watch_hold(&i->rate_missing, now);
    if (missing > spell->count)
        spell->count = missing;
    enum dbr_answer drive = work_drive(around->work, i->seen.interface, now);
    i->seen.drive_disengaged = i->seen.drive_disengaged || drive == DBR_ANSWER_FAILED;
    i->seen.drive_engaged = i->seen.drive_engaged || drive == DBR_ANSWER_HELD;
}

/* What else says that it works. Hitch and drive together count as one: either may be meant for
 * another machine. Sections that the controller switched off need no coverage. */
static uint64_t work_evidence(const struct implement *i, const struct surroundings *around,
                              int64_t now)
{
    uint64_t mask = 0;

    if (i->sections_wanted == DBR_ANSWER_FAILED || i->work_setpoint == DBR_ANSWER_FAILED)
        return 0;
    if (i->work_setpoint == DBR_ANSWER_HELD)
        mask |= DBR_EVIDENCE_WORK_SETPOINT;
    for (size_t e = 0; e < i->element_count; e++) {
        mask |= i->elements[e].has_meter && i->elements[e].meter > 0 ? DBR_EVIDENCE_METER : 0;
        mask |= i->elements[e].told && i->elements[e].actual > 0 ? DBR_EVIDENCE_RATE : 0;
    }
    if (work_lowered(around->work, i->seen.interface, now) == DBR_ANSWER_HELD &&
        work_drive(around->work, i->seen.interface, now) == DBR_ANSWER_HELD)
        mask |= DBR_EVIDENCE_LOWERED | DBR_EVIDENCE_DRIVE;
    return mask;
}

static void judge_coverage(struct implement *i, const struct surroundings *around, bool moving,
                           int64_t now)
{
    bool off = i->work_state_told && i->work_state != DBR_ANSWER_HELD;
    uint64_t evidence = off && moving ? work_evidence(i, around, now) : 0;

    if (evidence == 0)
        watch_end(&i->coverage_missing, &i->seen.coverage_missing, now, MISSING_NS);
    else
        watch_hold(&i->coverage_missing, now)->mask |= evidence;
}

static void judge_controller(struct implements *im, struct implement *i, struct link_answer a,
                             int64_t now)
{
    const struct controller *c = &im->controllers[i->seen.interface];
    bool asks = i->asks_alive >= 0;

    i->seen.controller_seen = c->seen;
    if (a.answer != DBR_ANSWER_FAILED || !asks) {
        watch_end(&i->controller_lost, &i->seen.controller_lost, now, 0);
        return;
    }
    bool begins = !i->controller_lost.on;
    struct dbr_spell *spell = watch_hold(&i->controller_lost, now);
    if (begins)
        spell->start_ns = c->seen ? c->status_ns : i->seen.first_ns;
}

/* Which source the implement seems to follow: while a rate is asked for, do rate and motion agree? */
static void compare_with_sources(struct implement *i, const struct speeds *sp, bool works,
                                 int64_t now)
{
    bool told = false, applies = false;

    for (size_t e = 0; e < i->element_count; e++) {
        told = told || i->elements[e].told;
        applies = applies || (i->elements[e].told && i->elements[e].actual > 0);
    }
    if (!works || !told)
        return;
    i->seen.follow_total++;
    for (size_t s = 0; s < sp->count; s++) {
        bool moves = source_is_fresh(&sp->items[s], now) && sp->items[s].mps > MOVING_MPS;
        i->seen.follow_agreed[s] += moves == applies;
    }
}

/* Averages of each meter while the implement does what it is asked to. */
static void sum_meters(struct implement *i, const struct surroundings *around, int64_t now)
{
    const struct source *own = speeds_own(around->speeds, i->seen.interface, i->seen.address);
    double speed = own && source_is_sound(own, now) ? own->mps : speeds_median(around->speeds, now);

    if (!(speed > MOVING_MPS))
        return;
    for (size_t e = 0; e < i->element_count; e++) {
        struct element *el = &i->elements[e];
        if (!el->asked || !(el->setpoint > 0) || !el->by_mass)
            continue;
        el->ticks++;
        el->sums[0] += el->setpoint;
        el->sums[1] += el->told ? el->actual : (double)NAN;
        el->sums[2] += speed;
        el->sums[3] += el->has_meter ? el->meter : (double)NAN;
    }
}

static void finish_meters(struct implement *i)
{
    for (size_t e = 0; e < i->element_count; e++) {
        const struct element *el = &i->elements[e];
        if (el->ticks == 0 || i->seen.meter_count == DBR_METERS_MAX)
            continue;
        i->seen.meters[i->seen.meter_count++] =
            (struct dbr_meter){.element = el->number,
                               .seconds = el->ticks * (double)TICK_NS / NS_PER_S,
                               .setpoint_kg_m2 = el->sums[0] / el->ticks,
                               .actual_kg_m2 = el->sums[1] / el->ticks,
                               .speed_mps = el->sums[2] / el->ticks,
                               .turns_per_s = el->sums[3] / el->ticks};
    }
}

static void judge(struct implements *im, struct implement *i, const struct surroundings *around,
                  int64_t now)
{
    struct link_answer answers[DBR_LINKS];
    bool moving = speeds_moving(around->speeds, now) == DBR_ANSWER_HELD;

    for (int l = 0; l < DBR_LINKS; l++) {
        answers[l] = chain_ask((enum dbr_link)l, im, i, around, now);
        tell(&i->seen.links[l], answers[l], now);
    }
    bool asked_to_work = answers[DBR_LINK_WORKING].answer == DBR_ANSWER_HELD &&
                         answers[DBR_LINK_SETPOINT].answer == DBR_ANSWER_HELD &&
                         answers[DBR_LINK_ON_BUS].answer == DBR_ANSWER_HELD &&
                         i->work_setpoint != DBR_ANSWER_FAILED &&
                         i->sections_wanted != DBR_ANSWER_FAILED;
    judge_rate(i, around, asked_to_work && moving, now);
    judge_coverage(i, around, moving && answers[DBR_LINK_ON_BUS].answer == DBR_ANSWER_HELD, now);
    judge_controller(im, i, answers[DBR_LINK_CONTROLLER], now);
    compare_with_sources(i, around->speeds, asked_to_work, now);
    bool at_work = asked_to_work && answers[DBR_LINK_COVERAGE].answer == DBR_ANSWER_HELD;
    i->steady_ticks = at_work ? i->steady_ticks + 1 : 0;
    if (i->steady_ticks > STEADY_TICKS)
        sum_meters(i, around, now);
}

/* What an ECU with an implement's NAME is good for as the one that meters: more is better. */
static int candidate_rank(const struct implements *im, const struct ecu *ecu)
{
    if (!dbr_ecu_is_implement(&ecu->seen))
        return 0;
    uint64_t name = ecu->seen.names[ecu->seen.name_count - 1];
    for (size_t i = 0; i < im->member_count; i++)
        if (im->members[i].name == name)
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

void implements_tick(struct implements *im, const struct surroundings *around, int64_t now)
{
    if (now < im->next_tick_ns)
        return;
    im->next_tick_ns = now - now % TICK_NS + TICK_NS;
    if (im->count == 0)
        adopt_silent_client(im, around, now);
    for (size_t i = 0; i < im->count; i++)
        judge(im, &im->items[i], around, now);
}

void implements_finish(struct implements *im, const struct surroundings *around, int64_t end_ns)
{
    for (size_t k = 0; k < im->count; k++) {
        struct implement *i = &im->items[k];
        judge(im, i, around, end_ns);
        finish_meters(i);
        watch_finish(&i->rate_missing, &i->seen.rate_missing, end_ns, MISSING_NS);
        watch_finish(&i->coverage_missing, &i->seen.coverage_missing, end_ns, MISSING_NS);
        watch_finish(&i->controller_lost, &i->seen.controller_lost, end_ns, 0);
    }
}
