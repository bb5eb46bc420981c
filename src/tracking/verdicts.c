/*
 * verdicts.c - once all is known: the state of each speed source, and what it is compared to.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tracking/speeds.h"

/* Ten comparisons a second: contract, speed-disagrees, wants 20 s. */
#define TICKS_PER_S 10.0
#define COMPARED_TICKS 200u

/* Who agrees within this speaks for the other (contract: off by more than 5 % is a finding). */
#define AGREES 0.05

/* One value in two messages of an ECU: a tenth of a second apart, and a bin of the ratios wide. */
#define REPEATS 0.01

/* A driven wheel runs ahead of the ground by its slip: up to 15 % in good work (trade figures:
 * 8..15 % for best power transfer, extension services' ballasting guides). */
#define SLIP_MAX 0.15

/* Bad spells that touch are one. */
#define TOUCH_NS (NS_PER_S / 2)

#define SPELL_LISTS 6u

/* Preference among references: satellites need no calibration, a radar and an axle do. */
static int reference_rank(enum dbr_speed_kind kind)
{
    switch (kind) {
    case DBR_SPEED_GNSS:
        return 4;
    case DBR_SPEED_NAVIGATION:
        return 3;
    case DBR_SPEED_GROUND:
        return 2;
    case DBR_SPEED_IMPLEMENT:
        return 1;
    case DBR_SPEED_WHEEL:
        return -1;
    case DBR_SPEED_VEHICLE:
        return -2;
    case DBR_SPEED_SELECTED:
    case DBR_SPEED_KINDS:
        break;
    }
    return 0;
}

static bool same_ecu(const struct dbr_speed_source *a, const struct dbr_speed_source *b)
{
    return a->interface == b->interface && a->address == b->address;
}

/* Whether one repeats the value of the wheel in the same ECU, whatever it says that it selects. */
static bool repeats_wheel(const struct speeds *sp, size_t s)
{
    for (size_t w = 0; w < sp->count; w++) {
        const struct dbr_speed_source *wheel = &sp->items[w].seen;
        if (wheel->kind == DBR_SPEED_WHEEL && same_ecu(wheel, &sp->items[s].seen) &&
            ratios_count(&sp->ratios, s, w) >= COMPARED_TICKS &&
            fabs(ratios_median(&sp->ratios, s, w) - 1) <= REPEATS)
            return true;
    }
    return false;
}

/* A selected speed counts as the source that it selects: as what it was for most of the time, for
 * that is what the median tells. */
static bool is_driven(const struct speeds *sp, size_t s)
{
    const struct source *src = &sp->items[s];

    if (src->seen.kind != DBR_SPEED_SELECTED)
        return src->seen.kind == DBR_SPEED_WHEEL || src->seen.kind == DBR_SPEED_VEHICLE;
    return src->wheel_ticks > src->moving_ticks / 2 || repeats_wheel(sp, s);
}

/* Whether source `s` confirms the scale of `r`. */
static bool agrees(const struct speeds *sp, size_t s, size_t r)
{
    if (ratios_count(&sp->ratios, s, r) < COMPARED_TICKS)
        return false;
    double ratio = ratios_median(&sp->ratios, s, r);
    double above = is_driven(sp, s) ? SLIP_MAX : AGREES;
    return ratio >= 1 - AGREES && ratio <= 1 + above;
}

/* ECUs other than those of `r` and `except` (an index, or sp->count) that confirm `r`. */
static unsigned support(const struct speeds *sp, size_t r, size_t except)
{
    unsigned ecus = 0;

    for (size_t s = 0; s < sp->count; s++) {
        const struct dbr_speed_source *seen = &sp->items[s].seen;
        bool counted = false;
        if (same_ecu(seen, &sp->items[r].seen) || seen->kind == DBR_SPEED_SELECTED ||
            (except < sp->count && same_ecu(seen, &sp->items[except].seen)))
            continue;
        for (size_t t = 0; t < s; t++)
            counted = counted || (same_ecu(seen, &sp->items[t].seen) && agrees(sp, t, r));
        ecus += !counted && agrees(sp, s, r);
    }
    return ecus;
}

/* Whether `a` is a better reference than `b` for the sources at large. */
static bool better_reference(const struct speeds *sp, size_t a, size_t b)
{
    int rank_a = reference_rank(sp->items[a].seen.kind);
    int rank_b = reference_rank(sp->items[b].seen.kind);

    if ((rank_a > 0) != (rank_b > 0))
        return rank_a > 0; /* free-rolling before driven */
    unsigned support_a = support(sp, a, sp->count), support_b = support(sp, b, sp->count);
    if (support_a != support_b)
        return support_a > support_b;
    return rank_a > rank_b;
}

/* The best reference for source `s`: comparable, not itself, and for the best of all from
 * another ECU. -1: none. */
static int find_reference(const struct speeds *sp, size_t s, int best)
{
    int found = -1;

    for (size_t r = 0; r < sp->count; r++) {
        int rank = reference_rank(sp->items[r].seen.kind);
        bool usable = r != s && rank != 0 &&
                      ratios_count(&sp->ratios, s, r) >= COMPARED_TICKS;
        if ((int)s == best)
            usable = usable && rank > 0 && !same_ecu(&sp->items[s].seen, &sp->items[r].seen);
        if (usable && (found < 0 || better_reference(sp, r, (size_t)found)))
            found = (int)r;
    }
    return found;
}

static void compare(struct speeds *sp, size_t s, int best)
{
    struct dbr_speed_source *seen = &sp->items[s].seen;
    int r = find_reference(sp, s, best);

    seen->driven = is_driven(sp, s);
    seen->reference = r;
    if (r < 0)
        return;
    enum dbr_speed_kind kind = sp->items[r].seen.kind;
    seen->ratio_to_reference = ratios_median(&sp->ratios, s, (size_t)r);
    seen->compared_since_ns = ratios_since(&sp->ratios, s, (size_t)r);
    seen->compared_s = ratios_count(&sp->ratios, s, (size_t)r) / TICKS_PER_S;
    seen->reference_supported = kind == DBR_SPEED_GNSS || kind == DBR_SPEED_NAVIGATION ||
                                support(sp, (size_t)r, s) > 0;
}

static int by_start(const void *x, const void *y)
{
    const struct dbr_spell *const *a = x, *const *b = y;
    return ((*a)->start_ns > (*b)->start_ns) - ((*a)->start_ns < (*b)->start_ns);
}

/* Bad spells that are separated by good time. */
static unsigned separate_spells(const struct dbr_spells *const lists[SPELL_LISTS])
{
    const struct dbr_spell *spells[SPELL_LISTS * DBR_SPELLS_MAX];
    size_t count = 0;
    unsigned separate = 0;
    int64_t end = INT64_MIN / 2;

    for (size_t i = 0; i < SPELL_LISTS; i++)
        for (size_t j = 0; j < lists[i]->count; j++)
            spells[count++] = &lists[i]->items[j];
    qsort(spells, count, sizeof spells[0], by_start);
    for (size_t i = 0; i < count; i++) {
        separate += spells[i]->start_ns - end > TOUCH_NS;
        if (spells[i]->end_ns > end)
            end = spells[i]->end_ns;
    }
    return separate;
}

struct dbr_spells dbr_speed_went_unavailable(const struct dbr_speed_source *source)
{
    const struct dbr_spells *all = &source->not_available;
    struct dbr_spells after = {.count = all->count - source->not_yet, .folded = all->folded};

    memcpy(after.items, all->items + source->not_yet, after.count * sizeof after.items[0]);
    return after;
}

static enum dbr_speed_state state_of(const struct dbr_speed_source *seen)
{
    struct dbr_spells gone = dbr_speed_went_unavailable(seen);
    /* In the order of the states: the last one that occurred is the worst. */
    const struct dbr_spells *const lists[SPELL_LISTS] = {
        &seen->stuck_zero, &seen->frozen, &seen->erratic, &gone, &seen->in_error, &seen->lost};
    enum dbr_speed_state state = DBR_SPEED_STATE_VALID;

    /* What never had a value cannot lose it. */
    if (seen->valid == 0)
        return seen->in_error.count > 0 ? DBR_SPEED_STATE_ERROR : DBR_SPEED_STATE_NOT_AVAILABLE;
    if (separate_spells(lists) >= 2)
        return DBR_SPEED_STATE_INTERMITTENT;
    for (unsigned i = 0; i < SPELL_LISTS; i++)
        if (lists[i]->count > 0)
            state = (enum dbr_speed_state)(DBR_SPEED_STATE_STUCK_ZERO + i);
    return state;
}

void speeds_settle(struct speeds *sp)
{
    int best = -1;

    for (size_t i = 0; i < sp->count; i++) {
        sp->items[i].seen.state = state_of(&sp->items[i].seen);
        bool usable = reference_rank(sp->items[i].seen.kind) != 0 && sp->items[i].seen.moved;
        if (usable && (best < 0 || better_reference(sp, i, (size_t)best)))
            best = (int)i;
    }
    for (size_t i = 0; i < sp->count; i++)
        compare(sp, i, best);
}
