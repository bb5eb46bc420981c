/* votes.h - what the other speed sources say about one of them at one moment. */
#ifndef DRAWBAR_TRACKING_VOTES_H
#define DRAWBAR_TRACKING_VOTES_H

#include "tracking/speeds.h"

struct votes {
    unsigned moving, still; /* ECUs */
    uint64_t mask;          /* sources that say that it moves */
    double speed_mps;       /* median of all others, free-rolling ones first; NAN: none */
    double moving_mps;      /* the same of those that move */
};

/* `about` is an index of the sources; their count asks what all of them say together. */
struct votes votes_about(const struct speeds *sp, size_t about, int64_t now);

#endif
