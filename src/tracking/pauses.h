/* pauses.h - moments at which no bus of the recording carried anything. */
#ifndef DRAWBAR_TRACKING_PAUSES_H
#define DRAWBAR_TRACKING_PAUSES_H

#include "tracking/spells.h"

/*
 * A long pause is a flaw of the recording where traffic without pauses surrounds it: what comes
 * before all ECUs have started, or after they have stopped, is none.
 */
struct pauses {
    int64_t last_ns;
    uint64_t steady;     /* frames in a row that followed each other closely */
    uint64_t hesitations; /* pauses in such traffic, but short ones */
    bool in_doubt;       /* `latest` is long and in such traffic; what follows it decides */
    struct dbr_spell latest;
    struct dbr_spells flaws;
};

void pauses_frame(struct pauses *p, int64_t now);

/* Whether the traffic else never pauses, so that its long pauses are flaws of the recording. */
bool pauses_are_flaws(const struct pauses *p);

#endif
