/*
 * series.h - buckets of values over time, in memory that is made as time goes on.
 *
 * Each quantity of each source has its place from the start; memory is taken with its
 * first value, in chunks of buckets out of a budget that all share. See
 * drawbar/series.h for what comes out of it.
 *
 * Values are kept as 16-bit multiples of a step. A value that does not fit doubles the
 * step and halves what is there: the range adapts, and the error stays below a step.
 */
#ifndef DRAWBAR_TRACKING_SERIES_H
#define DRAWBAR_TRACKING_SERIES_H

#include "drawbar/tracking.h"

/* Ten bytes a bucket. */
struct series_chunk {
    int32_t sums[DBR_SERIES_CHUNK];
    int16_t lows[DBR_SERIES_CHUNK], highs[DBR_SERIES_CHUNK];
    uint16_t counts[DBR_SERIES_CHUNK];
};

/* One bucket out of it. */
struct series_cell {
    int32_t sum;
    int16_t low, high; /* low, where the count is 0: enum dbr_bucket_state */
    uint16_t count;
};

struct series_pool;

struct dbr_series_store {
    struct series_pool *pool;
    double step, steps_per_unit;   /* of the quantity; one is the inverse of the other */
    bool counts;                   /* events: their sum is exact, and halved never */
    bool by_mass;
    int64_t from_ns, to_ns;        /* the bucket that was used last; empty after widening */
    struct series_chunk *chunk;
    size_t slot;
    size_t bucket_count;
    struct series_chunk **chunks;  /* NULL until the first value; each NULL until its first */
};

struct series_pool {
    int64_t bucket_ns;
    size_t chunk_count; /* in use by all */
    uint64_t dropped;
    bool out_of_memory;
    struct dbr_series_store speeds[DBR_SPEED_SOURCES_MAX];
    struct dbr_series_store setpoints[DBR_IMPLEMENTS_MAX], actuals[DBR_IMPLEMENTS_MAX];
    struct dbr_series_store loads[DBR_INTERFACES_MAX], errors[DBR_INTERFACES_MAX];
    struct dbr_series *gathered;
};

void series_init(struct series_pool *pool);
void series_release(struct series_pool *pool);

/* A valid value; anything that is no finite number is dropped. */
void series_value(struct dbr_series_store *s, int64_t at_ns, double value);

/* A message without a valid value. */
void series_none(struct dbr_series_store *s, int64_t at_ns, enum dbr_value_status status);

/* Drops all values. */
void series_forget(struct dbr_series_store *s);

/* Adds what another bucket holds. `counts` as in the store. */
void series_cell_merge(struct series_cell *to, const struct series_cell *from, bool counts);

static inline struct series_cell series_cell_at(const struct series_chunk *c, size_t slot)
{
    return (struct series_cell){c->sums[slot], c->lows[slot], c->highs[slot], c->counts[slot]};
}

/* Writes what was kept into `history->series`, whose sources and implements are gathered already.
 * False: out of memory. */
bool series_finish(struct series_pool *pool, struct dbr_history *history);

#endif
