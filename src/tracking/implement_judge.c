/*
 * implement_judge.c - twice a second: what each link of an implement's chain answers,
 * whether rate, coverage or controller are missing, and what its meters do.
 */
#include <assert.h>
#include <math.h>

#include "tracking/implements.h"
#include "tracking/partings.h"

/* Contract: rate-missing and coverage-missing. */
#define MISSING_NS (5 * NS_PER_S)

/* Meters need a moment to come up to speed, and values come once a second: 3 s. */
#define STEADY_TICKS 6u

/* A client of a task controller says something every 2 s at least (ISO 11783-10, client task):
 * after half a second more its last rates are drawn no further. */
#define HEARD_NS (5 * NS_PER_S / 2)

/* A task controller tells its status every 2 s (ISO 11783-10): the last one before the key may be
 * as old. */
#define STATUS_NS (2 * NS_PER_S)

/* A change of state that lasts less is told as the states around it: values come once a second. */
#define SHORT_NS NS_PER_S

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

static_assert(DBR_IMPLEMENT_ELEMENTS_MAX <= 64, "a bit for each element");

/* A bin or a boom that is off while another one works, or was told to be, has nothing to put out. */
static bool is_switched_off(const struct implement *i, uint16_t element)
{
    return (i->work_state == DBR_ANSWER_HELD &&
            element_states_of(&i->work_states, element) == DBR_ANSWER_FAILED) ||
           (i->work_setpoint == DBR_ANSWER_HELD &&
            element_states_of(&i->work_setpoints, element) == DBR_ANSWER_FAILED);
}

/* Elements that are asked for a rate and told none up to now for so long that it is missing: a bit
 * each; `*since_ns`: when the first of them began to; `*any`: whether one goes on, for how long
 * ever. */
static uint64_t lacking(struct implement *i, bool works, int64_t now, int64_t *since_ns, bool *any)
{
    uint64_t mask = 0;

    *since_ns = now;
    *any = false;
    for (size_t e = 0; e < i->element_count; e++) {
        struct element *el = &i->elements[e];
        bool lacks = works && el->asked && el->setpoint > 0 && el->told && !(el->actual > 0) &&
                     !is_switched_off(i, el->number);
        if (lacks && !el->lacks)
            el->lacks_ns = now;
        if ((lacks || el->lacks) && now - el->lacks_ns >= MISSING_NS) {
            mask |= UINT64_C(1) << e;
            *since_ns = el->lacks_ns < *since_ns ? el->lacks_ns : *since_ns;
        }
        el->lacks = lacks;
        *any = *any || lacks;
    }
    return mask;
}

/* The other way round: asked for a rate, and it is told. */
static void note_shown(struct implement *i)
{
    for (size_t e = 0; e < i->element_count; e++) {
        struct element *el = &i->elements[e];
        if (el->asked && el->setpoint > 0 && el->told && el->actual > 0)
            el->shown_ticks++;
        if (el->shown_ticks >= MISSING_NS / IMPLEMENTS_TICK_NS)
            i->seen.rate_shown |= UINT64_C(1) << e;
    }
}

static unsigned bits_of(uint64_t mask)
{
    unsigned count = 0;

    for (; mask; mask &= mask - 1)
        count++;
    return count;
}

static void keep_missing(struct implement *i, const struct surroundings *around, uint64_t missing,
                         int64_t since_ns, int64_t now)
{
    struct dbr_spell *spell = watch_hold(&i->rate_missing, since_ns);
    enum dbr_answer drive = work_drive(around->work, i->seen.interface, now);

    spell->end_ns = now;
    spell->mask |= missing;
    if (bits_of(missing) > spell->count)
        spell->count = bits_of(missing);
    i->seen.drive_disengaged = i->seen.drive_disengaged || drive == DBR_ANSWER_FAILED;
    i->seen.drive_engaged = i->seen.drive_engaged || drive == DBR_ANSWER_HELD;
}

static void judge_rate(struct implement *i, const struct surroundings *around, bool works,
                       int64_t now)
{
    int64_t since_ns;
    bool any;
    uint64_t missing = lacking(i, works, now, &since_ns, &any);

    if (works)
        note_shown(i);
    if (missing != 0)
        keep_missing(i, around, missing, since_ns, now);
    if (!any)
        watch_end(&i->rate_missing, &i->seen.rate_missing, now, MISSING_NS);
}

/* What has said for long enough that it works, until the next tick: a bit each. */
static uint64_t lasting(struct implement *i, uint64_t evidence, int64_t now)
{
    uint64_t mask = 0;

    for (unsigned b = 0; b < DBR_WORK_EVIDENCES; b++) {
        if (!(evidence >> b & 1u))
            i->evidence_ns[b] = -1;
        else if (i->evidence_ns[b] < 0)
            i->evidence_ns[b] = now;
        else if (now + IMPLEMENTS_TICK_NS - i->evidence_ns[b] >= MISSING_NS)
            mask |= UINT64_C(1) << b;
    }
    return mask;
}

/* Changing evidence of a moment each proves nothing. */
static int64_t least_of(const struct watch *coverage_missing)
{
    return coverage_missing->spell.mask ? MISSING_NS : INT64_MAX;
}

/* Where no work state is told, that of its sections: on where any is. */
static void judge_coverage(const struct implements *im, struct implement *i,
                           const struct surroundings *around, bool moving, int64_t now)
{
    bool off = i->work_state_told ? i->state != DBR_ANSWER_HELD : i->state == DBR_ANSWER_FAILED;
    uint64_t evidence = off && moving ? implement_evidence(im, i, around, now) : 0;
    uint64_t mask = lasting(i, evidence, now);

    if (evidence == 0) {
        watch_end(&i->coverage_missing, &i->seen.coverage_missing, now,
                  least_of(&i->coverage_missing));
        return;
    }
    if (mask && !i->work_state_told)
        mask |= DBR_EVIDENCE_SECTIONS;
    else if (mask && i->work_state_error)
        mask |= DBR_EVIDENCE_STATE_ERROR;
    watch_hold(&i->coverage_missing, now)->mask |= mask;
}

static void judge_controller(struct implements *im, struct implement *i, struct link_answer a,
                             int64_t now)
{
    const struct controller *c = &im->controllers[i->seen.interface];
    bool asks = i->asks_alive >= 0;

    i->seen.controller_seen = c->seen;
    i->seen.controller = c->address;
    if (a.answer != DBR_ANSWER_FAILED || !asks) {
        watch_end(&i->controller_lost, &i->seen.controller_lost, now, 0);
        return;
    }
    bool begins = !i->controller_lost.on;
    struct dbr_spell *spell = watch_hold(&i->controller_lost, now);
    if (begins)
        spell->start_ns = c->seen ? c->status_ns : i->seen.first_ns;
}

/* Whether a rate above zero is told; `told`: whether any is. */
static bool puts_out(const struct implement *i, bool *told)
{
    bool applies = false;

    *told = false;
    for (size_t e = 0; e < i->element_count; e++) {
        *told = *told || i->elements[e].told;
        applies = applies || (i->elements[e].told && i->elements[e].actual > 0);
    }
    return applies;
}

/* What goes on putting out while a source is dead does not live by that source. */
static void note_without(struct implement *i, const struct speeds *sp, bool applies, int64_t now)
{
    for (size_t s = 0; s < sp->count; s++) {
        bool lives = source_is_sound(&sp->items[s], now) && sp->items[s].mps >= STILL_MPS;
        if (lives || !applies) {
            i->without_since_ns[s] = -1;
            continue;
        }
        if (i->without_since_ns[s] < 0)
            i->without_since_ns[s] = now;
        if (now - i->without_since_ns[s] >= MISSING_NS)
            i->seen.applied_without |= UINT64_C(1) << s;
    }
}

/* Which source the implement seems to follow: while a rate is asked for, do rate and motion agree? */
static void compare_with_sources(struct implement *i, const struct speeds *sp, bool works,
                                 int64_t now)
{
    bool told, applies = puts_out(i, &told);

    note_without(i, sp, applies && speeds_moving(sp, now) == DBR_ANSWER_HELD, now);
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
                               .seconds = el->ticks * (double)IMPLEMENTS_TICK_NS / NS_PER_S,
                               .setpoint_kg_m2 = el->sums[0] / el->ticks,
                               .actual_kg_m2 = el->sums[1] / el->ticks,
                               .speed_mps = el->sums[2] / el->ticks,
                               .turns_per_s = el->sums[3] / el->ticks};
    }
}

/*
 * Set-point and actual rate over time: the mean of the elements that have one, of those by mass
 * where any is, else of the others. Which of them cover the same ground only the implement's
 * device description tells, so no sum is drawn.
 */
static void keep_rates(struct implements *im, const struct implement *i, int64_t now)
{
    struct dbr_series_store *setpoint = &im->series->setpoints[i - im->items];
    struct dbr_series_store *actual = &im->series->actuals[i - im->items];
    double asked_sum = 0, told_sum = 0;
    unsigned asked = 0, told = 0, without = 0;

    for (size_t e = 0; e < i->element_count && !setpoint->by_mass; e++) {
        if (!i->elements[e].by_mass)
            continue;
        series_forget(setpoint); /* what came in other units */
        series_forget(actual);
        setpoint->by_mass = actual->by_mass = true;
    }
    for (size_t e = 0; e < i->element_count; e++) {
        const struct element *el = &i->elements[e];
        bool has_rate = el->told && !isnan(el->actual);
        if (el->by_mass != setpoint->by_mass)
            continue;
        asked += el->asked;
        asked_sum += el->asked ? el->setpoint : 0;
        told += has_rate;
        told_sum += has_rate ? el->actual : 0;
        without += el->told && !has_rate;
    }
    if (asked > 0)
        series_value(setpoint, now, asked_sum / asked);
    if (told > 0)
        series_value(actual, now, told_sum / told);
    else if (without > 0)
        series_none(actual, now, DBR_VALUE_NOT_AVAILABLE);
}

void implement_judge(struct implements *im, struct implement *i,
                     const struct surroundings *around, int64_t now)
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
                         !implement_is_off(i, around, now) &&
                         i->work_setpoint != DBR_ANSWER_FAILED &&
                         i->sections_wanted != DBR_ANSWER_FAILED;
    judge_rate(i, around, asked_to_work && moving, now);
    judge_coverage(im, i, around,
                   moving && answers[DBR_LINK_ON_BUS].answer == DBR_ANSWER_HELD, now);
    judge_controller(im, i, answers[DBR_LINK_CONTROLLER], now);
    compare_with_sources(i, around->speeds, asked_to_work, now);
    if (now - i->ecu->seen.last_ns <= HEARD_NS)
        keep_rates(im, i, now);
    bool at_work = asked_to_work && answers[DBR_LINK_COVERAGE].answer == DBR_ANSWER_HELD;
    i->steady_ticks = at_work ? i->steady_ticks + 1 : 0;
    if (i->steady_ticks > STEADY_TICKS)
        sum_meters(i, around, now);
}

static void finish_elements(struct implement *i)
{
    i->seen.element_count = i->element_count;
    for (size_t e = 0; e < i->element_count; e++)
        i->seen.elements[e] = i->elements[e].number;
}

/* A bin has no width of its own: it serves the boom. */
static void finish_widths(struct implement *i, const struct dbr_device *d)
{
    double widest = (double)NAN;

    for (size_t k = 0; d && k < d->object_count; k++)
        if (d->objects[k].kind == DBR_OBJECT_ELEMENT)
            widest = fmax(widest, dbr_device_width_m(d, &d->objects[k])); /* NAN gives way */
    for (size_t m = 0; m < i->seen.meter_count; m++) {
        const struct dbr_device_object *element =
            d ? dbr_device_element(d, i->seen.meters[m].element) : NULL;
        double own = element ? dbr_device_width_m(d, element) : (double)NAN;
        i->seen.meters[m].width_m = isnan(own) ? widest : own;
    }
}

/* A controller goes with the key, and boots as it comes back. */
static void drop_turns_of_key(struct dbr_spells *lost, const struct bus *bus)
{
    size_t kept = 0;

    for (size_t k = 0; k < lost->count; k++)
        if (!parting_with_key(bus, &lost->items[k], STATUS_NS))
            lost->items[kept++] = lost->items[k];
    lost->count = kept;
}

void implement_finish(struct implement *i, const struct surroundings *around, int64_t end_ns)
{
    finish_elements(i);
    finish_meters(i);
    finish_widths(i, devices_description(around->devices, around->ecus, i->seen.interface,
                                         i->seen.address));
    watch_finish(&i->rate_missing, &i->seen.rate_missing, end_ns, MISSING_NS);
    watch_finish(&i->coverage_missing, &i->seen.coverage_missing, end_ns,
                 least_of(&i->coverage_missing));
    watch_finish(&i->controller_lost, &i->seen.controller_lost, end_ns, 0);
    drop_turns_of_key(&i->seen.controller_lost, &around->buses[i->seen.interface]);
}
