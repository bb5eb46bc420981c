/* drops.c - see drops.h. */
#include "tracking/drops.h"

#include <math.h>

/* Shorter ones may be a message or two that went wrong. */
#define DROP_NS NS_PER_S
#define DROP_MESSAGES 2u

/* So many, together as long as a source must read zero to be found dead (contract: 5 s). */
#define DROPS 3u
#define TOGETHER_NS (5 * NS_PER_S)
_Static_assert(DROPS_MAX >= TOGETHER_NS / DROP_NS && DROPS_MAX >= DROPS, "no drop is left out");

void drops_proven(struct source *src)
{
    for (size_t i = 0; i < src->drops.count; i++)
        spells_add(&src->seen.stuck_zero, &src->drops.kept[i]);
    src->drops.count = 0;
}

static void keep(struct source *src, struct dbr_spell spell, int64_t now)
{
    struct drops *d = &src->drops;
    int64_t together = 0;

    spell.end_ns = now;
    spell.count = 0;
    if (src->seen.stuck_zero.count > 0) {
        spells_add(&src->seen.stuck_zero, &spell);
        return;
    }
    d->kept[d->count++] = spell;
    for (size_t i = 0; i < d->count; i++)
        together += d->kept[i].end_ns - d->kept[i].start_ns;
    if (d->count >= DROPS && together >= TOGETHER_NS)
        drops_proven(src);
}

static void end_drop(struct source *src, double mps, int64_t now)
{
    const struct dbr_spell *spell = &src->drops.now.spell;

    src->drops.now.on = false;
    /* One that is long enough to tell by itself is told already. */
    if (mps >= SHOWN_MPS && !src->stuck_proven && src->drops.varied &&
        spell->count >= DROP_MESSAGES && now - spell->start_ns >= DROP_NS)
        keep(src, *spell, now);
}

void drops_value(struct source *src, double mps, int64_t now)
{
    struct drops *d = &src->drops;
    bool zero = mps < STILL_MPS;

    if (d->now.on && !zero)
        end_drop(src, mps, now);
    if (!d->now.on && zero && src->mps >= SHOWN_MPS && source_is_fresh(src, now)) {
        watch_hold(&d->now, now)->own = mps;
        d->witness_mps = (double)NAN;
        d->varied = false;
    }
    d->now.spell.count += zero;
}

/* A single witness must be seen to live: a value that never changes may be frozen itself. */
static bool is_alive(const struct drops *d, const struct votes *v)
{
    return v->moving > 1 || fabs(v->moving_mps - d->witness_mps) > 0; /* not for NAN */
}

void drops_witnessed(struct source *src, const struct votes *v, bool rolls, int64_t now)
{
    struct drops *d = &src->drops;

    d->now.on = d->now.on && rolls && !src->simulated && source_is_fresh(src, now) &&
                v->moving > v->still && v->moving_mps >= SHOWN_MPS;
    if (!d->now.on)
        return;
    d->varied = d->varied || is_alive(d, v);
    d->witness_mps = v->moving_mps;
    d->now.spell.mask |= v->mask;
    d->now.spell.low = fmin(d->now.spell.low, v->moving_mps);
    d->now.spell.high = fmax(d->now.spell.high, v->moving_mps);
}
