/*
 * troubles.h - what ECUs say of their own faults, and what service tools ask of them, together.
 */
#ifndef DRAWBAR_TRACKING_TROUBLES_H
#define DRAWBAR_TRACKING_TROUBLES_H

#include "tracking/service_orders.h"
#include "tracking/trouble_codes.h"

struct troubles {
    struct trouble_codes codes;
    struct service_orders orders;
    /* what the history points to, gathered at the end */
    struct dbr_trouble seen_codes[DBR_TROUBLES_MAX];
    struct dbr_trouble_sender seen_senders[DBR_TROUBLE_SENDERS_MAX];
    struct dbr_broadcast_stop seen_stops[DBR_BROADCAST_STOPS_MAX];
};

void troubles_message(struct troubles *t, const struct sighting *s);
void troubles_finish(struct troubles *t, const struct ecus *ecus,
                     const struct dbr_definitions *definitions, struct dbr_history *history);

#endif
