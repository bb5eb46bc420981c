/* votes.c - see votes.h. */
#include "tracking/votes.h"

#include <math.h>
#include <stdlib.h>

static bool is_free_rolling(const struct source *src)
{
    switch (src->seen.kind) {
    case DBR_SPEED_GROUND:
    case DBR_SPEED_NAVIGATION:
    case DBR_SPEED_GNSS:
    case DBR_SPEED_IMPLEMENT:
        return true;
    case DBR_SPEED_SELECTED:
        return src->seen.selection != SELECTS_WHEEL;
    case DBR_SPEED_WHEEL:
    case DBR_SPEED_VEHICLE:
    case DBR_SPEED_KINDS:
        break;
    }
    return false;
}

static bool same_ecu(const struct source *a, const struct source *b)
{
    return a->seen.address == b->seen.address && a->seen.interface == b->seen.interface;
}

/* A selected speed repeats a source that speaks for itself. */
static bool is_copy(const struct speeds *sp, const struct source *src, int64_t now)
{
    if (src->seen.kind != DBR_SPEED_SELECTED)
        return false;
    if (src->seen.selection == SELECTS_BLENDED)
        return true;
    for (size_t i = 0; i < sp->count; i++) {
        const struct source *o = &sp->items[i];
        bool original =
            (src->seen.selection == SELECTS_WHEEL && o->seen.kind == DBR_SPEED_WHEEL &&
             same_ecu(o, src)) ||
            (src->seen.selection == SELECTS_GROUND && o->seen.kind == DBR_SPEED_GROUND &&
             same_ecu(o, src)) ||
            (src->seen.selection == SELECTS_NAVIGATION &&
             (o->seen.kind == DBR_SPEED_GNSS || o->seen.kind == DBR_SPEED_NAVIGATION));
        if (original && source_is_fresh(o, now))
            return true;
    }
    return false;
}

static int by_value(const void *x, const void *y)
{
    double a = *(const double *)x, b = *(const double *)y;
    return (a > b) - (a < b);
}

static double median(double *values, size_t count)
{
    if (count == 0)
        return (double)NAN;
    qsort(values, count, sizeof *values, by_value);
    return count % 2 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2;
}

/* Speeds above `least` of the witnesses, from free-rolling sources where there are any. */
static double median_above(const struct source *const *witnesses, size_t count, double least)
{
    double free_rolling[DBR_SPEED_SOURCES_MAX], driven[DBR_SPEED_SOURCES_MAX];
    size_t free_count = 0, driven_count = 0;

    for (size_t i = 0; i < count; i++) {
        if (!(witnesses[i]->mps > least))
            continue;
        if (is_free_rolling(witnesses[i]))
            free_rolling[free_count++] = witnesses[i]->mps;
        else
            driven[driven_count++] = witnesses[i]->mps;
    }
    return free_count ? median(free_rolling, free_count) : median(driven, driven_count);
}

/* One vote for each ECU among the witnesses, unless it contradicts itself. */
static void count_ecus(struct votes *v, const struct source *const *witnesses, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bool first = true, moving = false, still = false;
        for (size_t j = 0; j < count; j++) {
            if (!same_ecu(witnesses[i], witnesses[j]))
                continue;
            first = first && j >= i;
            moving = moving || witnesses[j]->mps > MOVING_MPS;
            still = still || witnesses[j]->mps < STILL_MPS;
        }
        v->moving += first && moving && !still;
        v->still += first && still && !moving;
    }
}

struct votes votes_about(const struct speeds *sp, size_t about, int64_t now)
{
    const struct source *witnesses[DBR_SPEED_SOURCES_MAX];
    struct votes v = {0};
    size_t count = 0;

    for (size_t i = 0; i < sp->count; i++) {
        const struct source *o = &sp->items[i];
        if (i == about || !source_is_sound(o, now) || is_copy(sp, o, now))
            continue;
        witnesses[count++] = o;
        if (o->mps > MOVING_MPS)
            v.mask |= UINT64_C(1) << i;
    }
    count_ecus(&v, witnesses, count);
    v.speed_mps = median_above(witnesses, count, -1.0);
    v.moving_mps = median_above(witnesses, count, MOVING_MPS);
    return v;
}

enum dbr_answer speeds_moving(const struct speeds *sp, int64_t now)
{
    struct votes v = votes_about(sp, sp->count, now);

    if (v.moving == v.still)
        return DBR_ANSWER_UNKNOWN;
    return v.moving > v.still ? DBR_ANSWER_HELD : DBR_ANSWER_FAILED;
}

double speeds_median(const struct speeds *sp, int64_t now)
{
    return votes_about(sp, sp->count, now).speed_mps;
}
