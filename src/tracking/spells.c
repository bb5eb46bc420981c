/* spells.c - see spells.h. */
#include "tracking/spells.h"

#include <math.h>

struct dbr_spell spell_make(int64_t start_ns, int64_t end_ns)
{
    return (struct dbr_spell){.start_ns = start_ns,
                              .end_ns = end_ns,
                              .own = (double)NAN,
                              .low = (double)NAN,
                              .high = (double)NAN};
}

struct dbr_spell *spells_add(struct dbr_spells *spells, const struct dbr_spell *spell)
{
    if (spells->count == DBR_SPELLS_MAX) {
        spells->folded++;
        return NULL;
    }
    spells->items[spells->count] = *spell;
    return &spells->items[spells->count++];
}

struct dbr_spell *spells_last(struct dbr_spells *spells)
{
    return spells->count ? &spells->items[spells->count - 1] : NULL;
}

struct dbr_spell *watch_hold(struct watch *w, int64_t now)
{
    if (!w->on) {
        w->on = true;
        w->spell = spell_make(now, now);
    }
    w->spell.end_ns = now;
    return &w->spell;
}

bool watch_end(struct watch *w, struct dbr_spells *spells, int64_t now, int64_t least_ns)
{
    if (!w->on)
        return false;
    w->on = false;
    w->spell.end_ns = now;
    if (now - w->spell.start_ns < least_ns)
        return false;
    spells_add(spells, &w->spell);
    return true;
}

void watch_finish(struct watch *w, struct dbr_spells *spells, int64_t now, int64_t least_ns)
{
    if (!w->on)
        return;
    w->spell.open = true;
    watch_end(w, spells, now, least_ns);
}
