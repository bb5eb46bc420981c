/* supplies.h - battery voltage as ECUs report it, and the key switch. */
#ifndef DRAWBAR_TRACKING_SUPPLIES_H
#define DRAWBAR_TRACKING_SUPPLIES_H

#include "tracking/buses.h"
#include "tracking/sighting.h"
#include "tracking/spells.h"

struct supply {
    struct dbr_supply seen;
    struct watch low;
};

struct supplies {
    size_t count;
    struct supply items[DBR_SUPPLIES_MAX];
};

void supplies_value(struct supplies *su, const struct sighting *s, const struct role_value *v);
void supplies_finish(struct supplies *su, int64_t end_ns);

#endif
