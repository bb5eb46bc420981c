/*
 * series.h - how speeds, rates, load and error frames went over the whole recording.
 *
 * Part of the history (tracking.h). Values fall into buckets of equal width that keep
 * the lowest, the highest and the mean of what fell in. All series share one width: it
 * starts at DBR_SERIES_BUCKET_NS and doubles for all of them whenever a recording grows
 * beyond DBR_SERIES_BUCKETS_MAX buckets or the memory of all beyond DBR_SERIES_CHUNKS_MAX
 * chunks. A recording of 24 h with eighteen series has buckets of one second.
 *
 *     for (i = 0; i < history->series.count; i++)
 *         for (k = 0; k < history->series.items[i].bucket_count; k++)
 *             draw(k * history->series.bucket_ns, dbr_series_bucket(&history->series.items[i], k));
 *
 * What one bucket shows: a value where any valid value fell in, whatever else did; else
 * that the source said "error"; else that it said "not available"; else it is empty.
 * Empty is not zero and not yet a gap: a source that sends once a second leaves
 * most buckets of a sixteenth empty. Two values at most `hold_ns` apart belong together,
 * and a line between them tells the truth; over a longer empty stretch, and over any
 * "error" or "not available", there is no line.
 *
 * A recording without time stamps has no series.
 */
#ifndef DRAWBAR_SERIES_H
#define DRAWBAR_SERIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

enum dbr_quantity {
    DBR_QUANTITY_SPEED,         /* m/s, of a speed source */
    DBR_QUANTITY_RATE_SETPOINT, /* of an implement: mean of its elements, see `by_mass` */
    DBR_QUANTITY_RATE_ACTUAL,
    DBR_QUANTITY_LOAD,          /* percent of a bus, over one second, in steps of 0.1 s; empty while
                                   the bus is silent */
    DBR_QUANTITY_ERRORS,        /* error frames of a bus: how many fell into the bucket */
    DBR_QUANTITIES
};

enum dbr_bucket_state { /* what a bucket shows is the last of these that fell in */
    DBR_BUCKET_EMPTY,
    DBR_BUCKET_NOT_AVAILABLE, /* nothing but messages without a value */
    DBR_BUCKET_ERROR,         /* of these at least one with the error indicator */
    DBR_BUCKET_VALUE
};

struct dbr_bucket {
    enum dbr_bucket_state state;
    double min, mean, max; /* NAN unless state is VALUE; of error frames all three are their number */
    uint32_t count;        /* values that the mean rests on; in very wide buckets a share of them */
};

struct dbr_series_store;

struct dbr_series {
    enum dbr_quantity quantity;
    size_t of;       /* index into the history's sources, implements or buses */
    bool by_mass;    /* a rate: in kg/m2. Else in a unit of area that is the same for set-point and
                        actual rate, but which the recording does not tell for sure */
    int64_t hold_ns; /* values no further apart belong together; 0 for error frames */
    double step;     /* values are kept as multiples of it */
    size_t bucket_count;   /* up to the last one that is not empty */
    double min, max;       /* of all values; NAN where there is none */
    const struct dbr_series_store *store;
};

struct dbr_series_set {
    int64_t bucket_ns;   /* width; bucket k begins at k * bucket_ns */
    size_t bucket_count; /* of the longest series */
    size_t count;
    const struct dbr_series *items; /* speeds, set-points, actual rates, loads, error frames */
    uint64_t dropped;    /* values lost for want of memory */
};

/* One bucket; beyond bucket_count it is empty. */
struct dbr_bucket dbr_series_bucket(const struct dbr_series *series, size_t index);

/* `count` buckets from `first` on taken together. */
struct dbr_bucket dbr_series_span(const struct dbr_series *series, size_t first, size_t count);

/* The series of a quantity and an index; NULL: none. */
const struct dbr_series *dbr_series_find(const struct dbr_series_set *set,
                                         enum dbr_quantity quantity, size_t of);

/* "speed", "rate_setpoint", "rate_actual", "load", "errors". Static storage. */
const char *dbr_quantity_name(enum dbr_quantity quantity);

DBR_API_END

#endif
