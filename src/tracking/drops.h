/*
 * drops.h - a source that drops to zero for a second or some, again and again, at speed.
 *
 * A connection that comes and goes gives spells of zero that are too short to tell a dead sensor
 * by themselves. Here the source is its own witness: it goes fast, reads zero, and goes fast
 * again, while all the others go on. A machine that stops, low speeds that a radar does not
 * show and a wheel that is lifted do not look like that.
 */
#ifndef DRAWBAR_TRACKING_DROPS_H
#define DRAWBAR_TRACKING_DROPS_H

#include "tracking/speeds.h"
#include "tracking/votes.h"

/* A valid speed, before it is taken over: begins a drop or ends it. */
void drops_value(struct source *src, double mps, int64_t now);

/* What the others say during a drop; `rolls`: the source is known to have to move with them. */
void drops_witnessed(struct source *src, const struct votes *v, bool rolls, int64_t now);

/* The source is known to be bad: what was not enough to tell so counts as well. */
void drops_proven(struct source *src);

#endif
