/*
 * service_orders.h - what service tools ask of ECUs: to clear trouble codes (DM3, DM11, DM22),
 * to stop broadcasting and to start again (DM13).
 */
#ifndef DRAWBAR_TRACKING_SERVICE_ORDERS_H
#define DRAWBAR_TRACKING_SERVICE_ORDERS_H

#include "tracking/sighting.h"

struct broadcast_stop {
    struct dbr_broadcast_stop seen;
    int64_t last_ns; /* last DM13 that kept it up */
    bool ended;
};

struct service_orders {
    size_t clear_count, stop_count;
    struct dbr_trouble_clear clears[DBR_TROUBLE_CLEARS_MAX];
    struct broadcast_stop stops[DBR_BROADCAST_STOPS_MAX];
    uint64_t beyond;
};

bool service_orders_concern(uint32_t pgn);
void service_orders_message(struct service_orders *o, const struct sighting *s);
void service_orders_finish(struct service_orders *o, int64_t end_ns, bool timed);

#endif
