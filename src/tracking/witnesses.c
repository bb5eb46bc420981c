/*
 * witnesses.c - each speed source judged by what the others say at the same moment.
 *
 * Sensors fail to zero or to one value; motion that several report is not
 * invented. But any source may be the sick one, so the others vote, one vote an
 * ECU: an ECU that reports motion and standstill at once has none. A tie convicts
 * nobody, and a single witness must be seen to live: a value that never changes
 * may be frozen itself.
 */
#include <math.h>
#include <string.h>

#include "tracking/drops.h"
#include "tracking/ecus.h"
#include "tracking/speeds.h"
#include "tracking/votes.h"

/* Contract, findings table. */
#define STUCK_NS (5 * NS_PER_S)
#define FROZEN_NS (10 * NS_PER_S)
#define FROZEN_CHANGE 0.10
#define DIRECTION_NS (2 * NS_PER_S)

/*
 * Sources lag each other, most of all satellites behind wheels (receivers smooth; common practice,
 * no source): what the others say in the first and last two seconds of a run of one value may be
 * the change that it began or ended with.
 */
#define SETTLE_NS (2 * NS_PER_S)
#define STRETCH_NS (SETTLE_NS / (SETTLE_STRETCHES - 1))

/* Machines change speed by a few m/s2; a reference that jumps further in a tick is no measure. */
#define JUMP_MPS 1.0

static void widen(struct dbr_spell *spell, double value)
{
    if (!(spell->low <= value))
        spell->low = value;
    if (!(spell->high >= value))
        spell->high = value;
}

/* An implement's wheel may hang in the air while it is neither lowered nor working. */
static enum dbr_answer must_roll(const struct speeds *sp, const struct source *src, int64_t now)
{
    return src->seen.kind != DBR_SPEED_IMPLEMENT
               ? DBR_ANSWER_HELD
               : work_wheel_down(sp->work, src->seen.interface, src->seen.address, now);
}

static void begin_stuck(struct source *src, const struct votes *v, int64_t now)
{
    src->stuck_ns = now;
    src->witness_mps = v->moving_mps;
    src->witness_varied = false;
    if (src->stuck.on)
        return;
    src->stuck_proven = false;
    watch_hold(&src->stuck, now)->own = src->mps;
}

/* stuck_ns is when the present stretch of contradiction began; -1: there is none. */
static void judge_stuck(const struct speeds *sp, struct source *src, const struct votes *v,
                        int64_t now)
{
    bool contradicted = source_is_fresh(src, now) && src->mps < STILL_MPS && !src->simulated &&
                        v->moving > v->still && must_roll(sp, src, now) != DBR_ANSWER_FAILED;

    if (!contradicted) {
        src->stuck_ns = -1;
        src->stuck.on = src->stuck.on && src->stuck_proven;
        return;
    }
    if (!src->stuck.on || src->stuck_ns < 0)
        begin_stuck(src, v, now);
    if (v->moving > 1 || fabs(v->moving_mps - src->witness_mps) > 0)
        src->witness_varied = true;
    src->stuck_seen_ns = now;
    src->stuck.spell.mask |= v->mask;
    widen(&src->stuck.spell, v->moving_mps);
    if (now - src->stuck_ns < STUCK_NS || !src->witness_varied)
        return;
    src->stuck_proven = true;
    drops_proven(src);
}

/* It moves again: the spell ends now, or where nobody contradicted it lately, when that ended. */
static void end_stuck(struct source *src, int64_t now)
{
    bool recent = now - src->stuck_seen_ns <= STUCK_NS;

    if (src->stuck_proven)
        watch_end(&src->stuck, &src->seen.stuck_zero, recent ? now : src->stuck_seen_ns, 0);
    src->stuck.on = src->stuck_proven = false;
    src->stuck_ns = -1;
}

static const struct range no_range = {(double)NAN, (double)NAN};

static void stretch(struct range *range, double low, double high)
{
    range->low = fmin(range->low, low); /* NAN gives way */
    range->high = fmax(range->high, high);
}

static void forget_run(struct source *src, int64_t now)
{
    src->run = src->run_settled = no_range;
    for (size_t i = 0; i < SETTLE_STRETCHES; i++)
        src->run_recent[i] = no_range;
    src->run_recent_ns = now;
}

static void begin_run(struct source *src, int64_t now)
{
    src->run_since_ns = now;
    src->run_mask = 0;
    src->frozen = false;
    forget_run(src, now);
}

static bool varies(const struct range *range)
{
    return range->high - range->low > FROZEN_CHANGE * range->high;
}

/* Once they have settled, the others tell another speed: what they did before was no lag. */
static bool is_left_behind(const struct source *src)
{
    return src->mps < src->run_settled.low * (1 - FROZEN_CHANGE) ||
           src->mps > src->run_settled.high * (1 + FROZEN_CHANGE);
}

static bool is_frozen(const struct source *src, int64_t now)
{
    return now - src->run_since_ns >= FROZEN_NS &&
           (varies(&src->run_settled) || (varies(&src->run) && is_left_behind(src)));
}

/* The recording ends: what is not settled will not be followed by a change of its own. */
static void settle_all(struct source *src, int64_t now)
{
    for (size_t i = 0; i < SETTLE_STRETCHES; i++)
        stretch(&src->run_settled, src->run_recent[i].low, src->run_recent[i].high);
    src->frozen = src->frozen || is_frozen(src, now);
}

static void end_run(struct source *src, int64_t now, bool open)
{
    if (open && source_is_fresh(src, now))
        settle_all(src, now);
    if (src->frozen) {
        struct dbr_spell spell = spell_make(src->run_since_ns, now);
        spell.own = src->mps;
        spell.low = src->run.low;
        spell.high = src->run.high;
        spell.mask = src->run_mask;
        spell.open = open;
        spells_add(&src->seen.frozen, &spell);
    } else if (open && src->mps >= STILL_MPS && now - src->run_since_ns >= FROZEN_NS) {
        src->seen.one_value = true;
    }
    begin_run(src, now);
}

void witnesses_value(struct source *src, double mps, int64_t now)
{
    drops_value(src, mps, now);
    if (mps >= STILL_MPS && src->stuck.on)
        end_stuck(src, now);
    if (src->valid_ns < 0)
        begin_run(src, now);
    else if (fabs(mps - src->mps) > 0)
        end_run(src, now, false);
}

/* A stretch settles when the run has gone on for SETTLE_NS after it. */
static void settle_run(struct source *src, int64_t now)
{
    const struct range *oldest = &src->run_recent[SETTLE_STRETCHES - 1];

    if (now - src->run_recent_ns < STRETCH_NS)
        return;
    stretch(&src->run_settled, oldest->low, oldest->high);
    memmove(&src->run_recent[1], &src->run_recent[0],
            (SETTLE_STRETCHES - 1) * sizeof src->run_recent[0]);
    src->run_recent[0] = no_range;
    src->run_recent_ns = now;
}

/* While a source repeats its value: how far do the others move? */
static void judge_run(struct source *src, const struct votes *v, int64_t now)
{
    double ref = v->speed_mps;

    if (!source_is_fresh(src, now) || src->mps < STILL_MPS || src->simulated || isnan(ref))
        return;
    bool jump = ref > src->run.high + JUMP_MPS || ref < src->run.low - JUMP_MPS;
    if (jump && !src->frozen)
        forget_run(src, now);
    settle_run(src, now);
    stretch(&src->run, ref, ref);
    if (now - src->run_since_ns >= SETTLE_NS)
        stretch(&src->run_recent[0], ref, ref);
    src->run_mask |= v->mask;
    src->frozen = src->frozen || is_frozen(src, now);
}

static bool tells_direction(const struct source *src, int64_t now)
{
    return source_is_sound(src, now) && src->mps > MOVING_MPS && src->direction >= 0 &&
           now - src->direction_ns <= NS_PER_S;
}

/* Two that contradict each other: the finding is told at the one that measures it less directly. */
static void judge_directions(struct speeds *sp, int64_t now)
{
    for (size_t i = 0; i < sp->count; i++) {
        struct source *src = &sp->items[i];
        uint64_t opposite = 0;
        bool compared = false;
        for (size_t j = 0; j < sp->count && tells_direction(src, now); j++) {
            const struct source *o = &sp->items[j];
            if (o->seen.kind >= src->seen.kind || !tells_direction(o, now))
                continue;
            compared = true;
            opposite |= o->direction != src->direction ? UINT64_C(1) << j : 0;
        }
        src->seen.directions_compared_s += compared ? (double)SPEEDS_TICK_NS / (double)NS_PER_S : 0;
        if (opposite)
            watch_hold(&src->direction_odd, now)->mask |= opposite;
        else
            watch_end(&src->direction_odd, &src->seen.direction, now, DIRECTION_NS);
    }
}

static void compare_scales(struct speeds *sp, int64_t now)
{
    for (size_t i = 0; i < sp->count; i++) {
        struct source *a = &sp->items[i];
        if (!source_is_sound(a, now) || a->mps <= MOVING_MPS)
            continue;
        a->moving_ticks++;
        a->wheel_ticks += a->seen.selection == SELECTS_WHEEL;
        for (size_t j = i + 1; j < sp->count; j++) {
            const struct source *b = &sp->items[j];
            if (source_is_sound(b, now) && b->mps > MOVING_MPS)
                ratios_add(&sp->ratios, i, j, a->mps, b->mps, now);
        }
    }
}

void witnesses_tick(struct speeds *sp, int64_t now)
{
    for (size_t i = 0; i < sp->count; i++) {
        struct votes v = votes_about(sp, i, now);
        judge_stuck(sp, &sp->items[i], &v, now);
        drops_witnessed(&sp->items[i], &v,
                        must_roll(sp, &sp->items[i], now) == DBR_ANSWER_HELD, now);
        judge_run(&sp->items[i], &v, now);
    }
    judge_directions(sp, now);
    compare_scales(sp, now);
}

void witnesses_finish(struct speeds *sp, int64_t end_ns)
{
    for (size_t i = 0; i < sp->count; i++) {
        struct source *src = &sp->items[i];
        if (src->stuck.on && src->stuck_proven)
            watch_finish(&src->stuck, &src->seen.stuck_zero, end_ns, 0);
        if (src->valid_ns >= 0)
            end_run(src, end_ns, true);
        watch_finish(&src->direction_odd, &src->seen.direction, end_ns, DIRECTION_NS);
    }
}
