/*
 * spells.h - intervals in which a condition held, found while time goes on.
 */
#ifndef DRAWBAR_TRACKING_SPELLS_H
#define DRAWBAR_TRACKING_SPELLS_H

#include "drawbar/tracking.h"

#define NS_PER_S INT64_C(1000000000)
#define NS_PER_MS INT64_C(1000000)

/* A spell with its figures unset. */
struct dbr_spell spell_make(int64_t start_ns, int64_t end_ns);

/* Appends a spell; beyond the ceiling it is counted. Returns it, or NULL. */
struct dbr_spell *spells_add(struct dbr_spells *spells, const struct dbr_spell *spell);

/* The last spell, or NULL. */
struct dbr_spell *spells_last(struct dbr_spells *spells);

/* A condition that is observed again and again: when it began, with the figures so far. */
struct watch {
    bool on;
    struct dbr_spell spell;
};

/* The condition holds at `now`; begins a spell where none is on. Returns it for its figures. */
struct dbr_spell *watch_hold(struct watch *w, int64_t now);

/* The condition no longer holds: a spell of at least `least_ns` is kept. True where it was. */
bool watch_end(struct watch *w, struct dbr_spells *spells, int64_t now, int64_t least_ns);

/* The recording ends: a spell that is on stays open. */
void watch_finish(struct watch *w, struct dbr_spells *spells, int64_t now, int64_t least_ns);

#endif
