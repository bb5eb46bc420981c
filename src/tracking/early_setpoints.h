/*
 * early_setpoints.h - set-points of a recording that begins in mid-work, until it is known who
 * is the task controller.
 *
 * A set-point is the same message either way: the controller gives it to the implement, and the
 * implement reports it to the controller (ISO 11783-10, value command). The status tells who is
 * who, and comes every 2 s. What is sent before is kept, and told as soon as a status came; or
 * without one after the time in which a client gives its controller up.
 */
#ifndef DRAWBAR_TRACKING_EARLY_SETPOINTS_H
#define DRAWBAR_TRACKING_EARLY_SETPOINTS_H

#include "drawbar/limits.h"
#include "tracking/sighting.h"

struct early_setpoints {
    size_t count;
    struct dbr_frame frames[DBR_EARLY_SETPOINTS_MAX];
};

/* Keeps the message where it is early; false: it is to be told now. */
bool early_setpoints_keep(struct early_setpoints *e, const struct sighting *s, enum dbr_role role);

/* Whether they wait no longer, on a bus without a controller as yet. */
bool early_setpoints_are_over(const struct bus *bus);

/* Takes out the first one of the interface, into `*out`; false where there is none. */
bool early_setpoints_take(struct early_setpoints *e, uint8_t interface, struct dbr_frame *out);

#endif
