/*
 * activity.h - when the PTO was engaged and when the hitch moved: what a failure may
 * go along with.
 */
#ifndef DRAWBAR_TRACKING_ACTIVITY_H
#define DRAWBAR_TRACKING_ACTIVITY_H

#include "tracking/buses.h"
#include "tracking/sighting.h"
#include "tracking/work.h"

/* One hitch: front and rear are told in groups of their own. */
struct hitch {
    bool told;
    double position; /* %, at its last step */
    int64_t moved_ns;
    struct watch moves;
};

struct activity {
    struct watch drive[DBR_INTERFACES_MAX];
    struct hitch hitches[DBR_INTERFACES_MAX][2];
};

void activity_value(struct activity *a, const struct work *w, const struct sighting *s,
                    const struct role_value *v);
void activity_finish(struct activity *a, struct bus *buses, int64_t end_ns);

#endif
