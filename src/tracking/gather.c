/* gather.c - the public parts of what was tracked, side by side, as the history shows them. */
#include <stdlib.h>
#include <string.h>

#include "tracking/trackers.h"

static const void *bus_at(const struct dbr_tracking *t, size_t i)
{
    return &t->buses[i].seen;
}

static const void *ecu_at(const struct dbr_tracking *t, size_t i)
{
    return &t->ecus.items[i]->seen;
}

static const void *stream_at(const struct dbr_tracking *t, size_t i)
{
    return &t->streams.items[i]->seen;
}

static const void *source_at(const struct dbr_tracking *t, size_t i)
{
    return &t->speeds.items[i].seen;
}

static const void *supply_at(const struct dbr_tracking *t, size_t i)
{
    return &t->supplies.items[i].seen;
}

static const void *implement_at(const struct dbr_tracking *t, size_t i)
{
    return &t->implements.items[i].seen;
}

/* The public parts of `count` items, side by side in memory of their own; NULL when there is none. */
static void *gather(const struct dbr_tracking *t, size_t count, size_t size,
                    const void *(*item_at)(const struct dbr_tracking *, size_t))
{
    uint8_t *copies = calloc(count > 0 ? count : 1, size);

    for (size_t i = 0; copies && i < count; i++)
        memcpy(copies + i * size, item_at(t, i), size);
    return copies;
}

bool tracking_gather(struct dbr_tracking *t)
{
    const struct dbr_history *h = &t->history;

    t->seen_buses = gather(t, h->bus_count, sizeof *t->seen_buses, bus_at);
    t->seen_ecus = gather(t, h->ecu_count, sizeof *t->seen_ecus, ecu_at);
    t->seen_streams = gather(t, h->stream_count, sizeof *t->seen_streams, stream_at);
    t->seen_sources = gather(t, h->source_count, sizeof *t->seen_sources, source_at);
    t->seen_supplies = gather(t, h->supply_count, sizeof *t->seen_supplies, supply_at);
    t->seen_implements =
        gather(t, h->implement_count, sizeof *t->seen_implements, implement_at);
    t->seen_devices = devices_gather(&t->devices, &t->history.device_count);
    return t->seen_devices && t->seen_implements && t->seen_buses && t->seen_ecus &&
           t->seen_streams && t->seen_sources && t->seen_supplies;
}
