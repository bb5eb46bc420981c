/* pauses.h - moments at which no bus of the recording carried anything. */
#ifndef DRAWBAR_TRACKING_PAUSES_H
#define DRAWBAR_TRACKING_PAUSES_H

#include "tracking/spells.h"

struct pauses {
    bool any;
    int64_t last_ns;
    uint64_t intervals; /* between frames of whatever bus */
    uint64_t ordinary;  /* of these, shorter than a quarter of a second */
    struct dbr_spells long_ones;
};

void pauses_frame(struct pauses *p, int64_t now);

/* Whether the recording else never pauses, so that its long pauses are flaws of its own. */
bool pauses_are_flaws(const struct pauses *p);

#endif
