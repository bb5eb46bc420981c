/*
 * trouble_codes.h - which trouble codes each ECU reports, since when, and whether they went away.
 *
 * An ECU with an active fault sends its list once a second and at each change (SAE J1939-73
 * 5.7.1); one without may send none at all. Lists of one ECU are compared with each other: what
 * stands in one and not in the next has gone.
 */
#ifndef DRAWBAR_TRACKING_TROUBLE_CODES_H
#define DRAWBAR_TRACKING_TROUBLE_CODES_H

#include "tracking/ecus.h"
#include "tracking/sighting.h"

struct trouble {
    struct dbr_trouble seen;
    uint64_t list; /* number of the last list of its ECU that it stood in */
    bool active;   /* it stood in the last list of its ECU that said anything */
};

struct trouble_sender {
    struct dbr_trouble_sender seen;
    int64_t ecu_first_ns; /* when the ECU was first heard */
};

struct trouble_codes {
    size_t count, sender_count;
    struct trouble items[DBR_TROUBLES_MAX];
    struct trouble_sender senders[DBR_TROUBLE_SENDERS_MAX];
    uint64_t beyond;
};

/* A whole message; others than DM1 and DM2 are ignored. */
bool trouble_codes_concern(uint32_t pgn);
void trouble_codes_message(struct trouble_codes *t, const struct sighting *s);

/* The recording ends: what became of each code. */
void trouble_codes_finish(struct trouble_codes *t, const struct ecus *ecus,
                          const struct dbr_definitions *definitions, bool timed);

#endif
