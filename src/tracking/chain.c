/* chain.c - the eight links of an implement's chain, each judged by its own evidence. */
#include <math.h>

#include "tracking/implements.h"
#include "tracking/process_roles.h"

/* ISO 11783-10: a client regards its task controller as lost after 6 s without status. */
#define CONTROLLER_LOST_NS (6 * NS_PER_S)

/* It waits 6 s after its claim, then for the status: twice that and a little has passed. */
#define CONTROLLER_NEVER_NS (15 * NS_PER_S)

/* As ecu-silent has it. */
#define SILENT_NS (3 * NS_PER_S)

static struct link_answer held(enum dbr_link_reason reason)
{
    return (struct link_answer){DBR_ANSWER_HELD, reason};
}

static struct link_answer failed(enum dbr_link_reason reason)
{
    return (struct link_answer){DBR_ANSWER_FAILED, reason};
}

static struct link_answer unknown(enum dbr_link_reason reason)
{
    return (struct link_answer){DBR_ANSWER_UNKNOWN, reason};
}

/* Why nothing is known of a role, as far as the implement's description tells. */
static struct link_answer never_told(const struct implement *i, const struct surroundings *around,
                                     enum dbr_role role, enum dbr_role other)
{
    const struct dbr_device *d = devices_description(around->devices, around->ecus,
                                                     i->seen.interface, i->seen.address);

    if (!d || !d->complete)
        return unknown(DBR_REASON_NOTHING_SEEN);
    return process_role_listed(d, role) || process_role_listed(d, other)
               ? unknown(DBR_REASON_NEVER_SENT)
               : unknown(DBR_REASON_NOT_DESCRIBED);
}

static const struct bus *bus_of(const struct implement *i, const struct surroundings *around)
{
    return &around->buses[i->seen.interface];
}

static struct link_answer ask_on_bus(const struct implement *i, const struct surroundings *around)
{
    int64_t quiet = bus_of(i, around)->alive_ns - i->ecu->alive_at_last;
    double usual_ns = ecu_mean_interval_s(i->ecu) * NS_PER_S;

    if (quiet > SILENT_NS && (double)quiet > 10 * usual_ns)
        return failed(DBR_REASON_SILENT);
    return held(DBR_REASON_HEARD);
}

static struct link_answer ask_controller(const struct implements *im, const struct implement *i,
                                         const struct surroundings *around)
{
    const struct controller *c = &im->controllers[i->seen.interface];
    int64_t alive = bus_of(i, around)->alive_ns;

    if (c->seen && alive - c->status_alive <= CONTROLLER_LOST_NS)
        return held(DBR_REASON_CONTROLLER_THERE);
    if (c->seen)
        return failed(DBR_REASON_CONTROLLER_GONE);
    if (i->asks_alive < 0)
        return alive - i->born_alive > CONTROLLER_NEVER_NS ? failed(DBR_REASON_CONTROLLER_NONE)
                                                           : unknown(DBR_REASON_NOTHING_SEEN);
    if (alive - i->asks_alive > CONTROLLER_NEVER_NS)
        return failed(DBR_REASON_CONTROLLER_NEVER);
    return unknown(DBR_REASON_CONTROLLER_NOT_YET);
}

/* Its own source where it has one; else any. */
static struct link_answer ask_speed(const struct implement *i, const struct surroundings *around,
                                    int64_t now)
{
    const struct source *own = speeds_own(around->speeds, i->seen.interface, i->seen.address);
    enum dbr_answer moving = speeds_moving(around->speeds, now);

    if (own && !source_is_fresh(own, now))
        return failed(DBR_REASON_OWN_SPEED_GONE);
    if (own && own->mps > MOVING_MPS)
        return held(DBR_REASON_MOVING);
    if (own && own->mps < STILL_MPS && moving == DBR_ANSWER_HELD)
        return failed(DBR_REASON_OWN_SPEED_DEAD);
    if (own)
        return failed(DBR_REASON_STANDING);
    if (moving == DBR_ANSWER_HELD)
        return held(DBR_REASON_MOVING);
    if (moving == DBR_ANSWER_FAILED)
        return failed(DBR_REASON_STANDING);
    return speeds_any_valid(around->speeds, now) ? unknown(DBR_REASON_NOTHING_SEEN)
                                                 : failed(DBR_REASON_NO_SPEED);
}

static struct link_answer ask_setpoint(const struct implement *i,
                                       const struct surroundings *around)
{
    bool any = false;

    for (size_t e = 0; e < i->element_count; e++) {
        if (i->elements[e].asked && i->elements[e].setpoint > 0)
            return held(DBR_REASON_SETPOINT_ABOVE);
        any = any || i->elements[e].asked;
    }
    return any ? failed(DBR_REASON_SETPOINT_ZERO)
               : never_told(i, around, DBR_ROLE_RATE_SETPOINT, DBR_ROLE_NONE);
}

/* What the implement says of its own work: nothing comes out with all sections off either. */
static enum dbr_answer own_word(const struct implement *i)
{
    if (i->work_state_told && i->work_state != DBR_ANSWER_HELD)
        return i->work_state;
    if (i->sections_on == DBR_ANSWER_FAILED)
        return DBR_ANSWER_FAILED;
    return i->work_state_told ? i->work_state : i->sections_on;
}

bool implement_is_idle(const struct implement *i)
{
    return own_word(i) == DBR_ANSWER_FAILED && i->work_setpoint != DBR_ANSWER_HELD &&
           (i->put_off || i->work_setpoint == DBR_ANSWER_FAILED);
}

bool implement_is_off(const struct implement *i, const struct surroundings *around, int64_t now)
{
    enum dbr_link_reason speed = ask_speed(i, around, now).reason;
    bool gone = speed == DBR_REASON_OWN_SPEED_DEAD || speed == DBR_REASON_OWN_SPEED_GONE;

    return own_word(i) == DBR_ANSWER_FAILED && (!gone || implement_is_idle(i));
}

/*
 * The controller may leave its word standing while an operator switches off: it says that the
 * implement works only while nothing speaks against it, and before it obeyed for the first time.
 */
static bool is_ordered(const struct implements *im, const struct implement *i,
                       const struct surroundings *around, int64_t now)
{
    return i->work_setpoint == DBR_ANSWER_HELD && !i->was_on &&
           work_lowered(around->work, i->seen.interface, now) != DBR_ANSWER_FAILED &&
           ask_setpoint(i, around).answer == DBR_ANSWER_HELD &&
           ask_controller(im, i, around).answer == DBR_ANSWER_HELD;
}

/* What comes out of it. What was told before the state changed is of the work before. */
static uint64_t output_of(const struct implement *i)
{
    uint64_t mask = 0;

    for (size_t e = 0; e < i->element_count; e++) {
        const struct element *el = &i->elements[e];
        bool turns = el->has_meter && el->meter > 0 && el->meter_ns >= i->state_ns;
        bool applies = el->told && el->actual > 0 && el->told_ns >= i->state_ns;
        mask |= turns ? DBR_EVIDENCE_METER : 0;
        mask |= applies ? DBR_EVIDENCE_RATE : 0;
    }
    return mask;
}

static bool another_works(const struct implements *im, const struct implement *i)
{
    for (size_t k = 0; k < im->count; k++)
        if (&im->items[k] != i && im->items[k].seen.interface == i->seen.interface &&
            own_word(&im->items[k]) == DBR_ANSWER_HELD)
            return true;
    return false;
}

/* Nothing came out since its state went off, as it tells. */
static bool output_ended(const struct implement *i)
{
    bool told = false;

    for (size_t e = 0; e < i->element_count; e++)
        told = told || (i->elements[e].told && i->elements[e].told_ns >= i->state_ns);
    return told && output_of(i) == 0;
}

/*
 * Hitch and drive together count as one: either may be meant for another machine, as both are
 * where another implement works, or where this one is asked for nothing. A trailed one stays down
 * and driven at a headland, where the operator switches it off: its output ends with its state,
 * while its own wheel turns.
 */
static bool is_down_and_driven(const struct implements *im, const struct implement *i,
                               const struct surroundings *around, int64_t now)
{
    return work_lowered(around->work, i->seen.interface, now) == DBR_ANSWER_HELD &&
           work_drive(around->work, i->seen.interface, now) == DBR_ANSWER_HELD &&
           ask_setpoint(i, around).answer != DBR_ANSWER_FAILED && !another_works(im, i) &&
           !(i->put_off && output_ended(i));
}

/* Sections that the controller switched off need no coverage, unless it puts out and they never
 * were on. */
uint64_t implement_evidence(const struct implements *im, const struct implement *i,
                            const struct surroundings *around, int64_t now)
{
    uint64_t mask = output_of(i);

    if (i->work_setpoint == DBR_ANSWER_FAILED)
        return 0;
    if (i->sections_wanted == DBR_ANSWER_FAILED)
        return i->work_setpoint == DBR_ANSWER_HELD && !i->was_on ? mask : 0;
    if (is_ordered(im, i, around, now))
        mask |= DBR_EVIDENCE_WORK_SETPOINT;
    if (is_down_and_driven(im, i, around, now))
        mask |= DBR_EVIDENCE_LOWERED | DBR_EVIDENCE_DRIVE;
    return mask;
}

/* Its own word comes first (contract), unless other evidence contradicts it or it stops by itself;
 * a hitch may be down for a drawbar that hangs in it. */
static struct link_answer ask_working(const struct implements *im, const struct implement *i,
                                      const struct surroundings *around, int64_t now)
{
    enum dbr_answer answer = work_lowered_or_working(around->work, i->seen.interface,
                                                     i->seen.address, now);

    if (own_word(i) == DBR_ANSWER_HELD)
        return held(DBR_REASON_WORKS);
    if (answer == DBR_ANSWER_FAILED)
        return failed(DBR_REASON_RAISED);
    if (implement_is_off(i, around, now) && implement_evidence(im, i, around, now) == 0)
        return failed(DBR_REASON_WORK_STATE_OFF);
    bool raised = work_lowered(around->work, i->seen.interface, now) == DBR_ANSWER_FAILED;
    if (answer == DBR_ANSWER_HELD || (i->work_setpoint == DBR_ANSWER_HELD && !raised))
        return held(DBR_REASON_WORKS);
    return unknown(DBR_REASON_NOTHING_SEEN);
}

static struct link_answer ask_metering(const struct implement *i,
                                       const struct surroundings *around)
{
    bool any = false;

    for (size_t e = 0; e < i->element_count; e++) {
        if (i->elements[e].has_meter && i->elements[e].meter > 0)
            return held(DBR_REASON_TURNING);
        any = any || i->elements[e].has_meter;
    }
    return any ? failed(DBR_REASON_METERS_STAND)
               : never_told(i, around, DBR_ROLE_METER_SPEED, DBR_ROLE_NONE);
}

static struct link_answer ask_rate(const struct implement *i, const struct surroundings *around)
{
    bool any = false, zero = false;

    for (size_t e = 0; e < i->element_count; e++) {
        if (!i->elements[e].told)
            continue;
        if (i->elements[e].actual > 0)
            return held(DBR_REASON_RATE_ABOVE);
        any = true;
        zero = zero || !isnan(i->elements[e].actual);
    }
    if (!any)
        return never_told(i, around, DBR_ROLE_RATE_ACTUAL, DBR_ROLE_NONE);
    return failed(zero ? DBR_REASON_RATE_ZERO : DBR_REASON_RATE_NONE);
}

/* The actual work state; where none is told, whether a section works. */
static struct link_answer ask_coverage(const struct implement *i,
                                       const struct surroundings *around)
{
    if (i->state == DBR_ANSWER_HELD)
        return held(DBR_REASON_WORK_STATE_ON);
    if (i->state == DBR_ANSWER_FAILED)
        return failed(i->work_state_told ? DBR_REASON_WORK_STATE_OFF : DBR_REASON_SECTIONS_OFF);
    if (i->work_state_told && i->work_state_error)
        return failed(DBR_REASON_WORK_STATE_ERROR);
    return i->work_states.count > 0
               ? unknown(DBR_REASON_NOTHING_SEEN)
               : never_told(i, around, DBR_ROLE_WORK_STATE, DBR_ROLE_SECTIONS_ACTUAL);
}

struct link_answer chain_ask(enum dbr_link link, const struct implements *im,
                             const struct implement *i, const struct surroundings *around,
                             int64_t now)
{
    switch (link) {
    case DBR_LINK_ON_BUS:
        return ask_on_bus(i, around);
    case DBR_LINK_CONTROLLER:
        return ask_controller(im, i, around);
    case DBR_LINK_SPEED:
        return ask_speed(i, around, now);
    case DBR_LINK_WORKING:
        return ask_working(im, i, around, now);
    case DBR_LINK_SETPOINT:
        return ask_setpoint(i, around);
    case DBR_LINK_METERING:
        return ask_metering(i, around);
    case DBR_LINK_RATE:
        return ask_rate(i, around);
    case DBR_LINK_COVERAGE:
        return ask_coverage(i, around);
    case DBR_LINKS:
        break;
    }
    return unknown(DBR_REASON_NOTHING_SEEN);
}
