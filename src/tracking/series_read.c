/* series_read.c - what the buckets say, for those who draw them. */
#include <math.h>
#include <stdlib.h>

#include "tracking/series.h"
#include "tracking/spells.h"

/* A line between two values may bridge as much as a speed stays fresh (speeds.c): half a second, or
 * three periods of a slow source; rates are looked at twice a second, load ten times. */
#define HOLD_NS (NS_PER_S / 2)
#define HOLD_PERIODS 3
#define RATE_HOLD_NS (3 * NS_PER_S / 2)

void series_cell_merge(struct series_cell *to, const struct series_cell *from, bool counts)
{
    uint32_t count = (uint32_t)to->count + from->count;
    int64_t sum = (int64_t)to->sum + from->sum;

    if (from->count == 0) {
        if (to->count == 0 && from->low > to->low)
            to->low = from->low;
        return;
    }
    if (to->count == 0) {
        *to = *from;
        return;
    }
    if (count > UINT16_MAX) { /* a mean stays what it is when both are halved */
        sum = counts ? sum : sum / 2;
        count = counts ? UINT16_MAX : count / 2;
    }
    to->sum = (int32_t)(sum < INT32_MAX ? sum : INT32_MAX);
    to->count = (uint16_t)count;
    to->low = from->low < to->low ? from->low : to->low;
    to->high = from->high > to->high ? from->high : to->high;
}

static struct series_cell cell_at(const struct dbr_series *series, size_t index)
{
    const struct series_chunk *c = index < series->bucket_count
                                       ? series->store->chunks[index / DBR_SERIES_CHUNK]
                                       : NULL;
    return c ? series_cell_at(c, index % DBR_SERIES_CHUNK)
             : (struct series_cell){.low = DBR_BUCKET_EMPTY};
}

static struct dbr_bucket bucket_of(const struct dbr_series *series, const struct series_cell *cell)
{
    double step = series->store->step;

    if (cell->count == 0)
        return (struct dbr_bucket){(enum dbr_bucket_state)cell->low, (double)NAN, (double)NAN,
                                   (double)NAN, 0};
    if (series->store->counts)
        return (struct dbr_bucket){DBR_BUCKET_VALUE, cell->sum, cell->sum, cell->sum,
                                   (uint32_t)cell->sum};
    return (struct dbr_bucket){DBR_BUCKET_VALUE, cell->low * step, cell->sum * step / cell->count,
                               cell->high * step, cell->count};
}

struct dbr_bucket dbr_series_bucket(const struct dbr_series *series, size_t index)
{
    struct series_cell cell = cell_at(series, index);

    return bucket_of(series, &cell);
}

/* The first bucket of index..end-1 that may hold something: long pauses have no chunks. */
static size_t next_kept(const struct dbr_series *series, size_t index, size_t end)
{
    while (index < end && !series->store->chunks[index / DBR_SERIES_CHUNK])
        index += DBR_SERIES_CHUNK - index % DBR_SERIES_CHUNK;
    return index;
}

struct dbr_bucket dbr_series_span(const struct dbr_series *series, size_t first, size_t count)
{
    struct series_cell all = {.low = DBR_BUCKET_EMPTY};
    size_t end = series->bucket_count;

    if (first < end && count < end - first)
        end = first + count;
    for (size_t i = next_kept(series, first, end); i < end; i = next_kept(series, i + 1, end)) {
        struct series_cell cell = cell_at(series, i);
        series_cell_merge(&all, &cell, series->store->counts);
    }
    return bucket_of(series, &all);
}

const struct dbr_series *dbr_series_find(const struct dbr_series_set *set,
                                         enum dbr_quantity quantity, size_t of)
{
    for (size_t i = 0; i < set->count; i++)
        if (set->items[i].quantity == quantity && set->items[i].of == of)
            return &set->items[i];
    return NULL;
}

const char *dbr_quantity_name(enum dbr_quantity quantity)
{
    static const char *const names[] = {"speed", "rate_setpoint", "rate_actual", "load", "errors"};
    _Static_assert(sizeof names / sizeof names[0] == DBR_QUANTITIES, "a name for each quantity");
    return (unsigned)quantity < DBR_QUANTITIES ? names[quantity] : "unknown";
}

static void find_extremes(struct dbr_series *series)
{
    size_t end = series->bucket_count;

    series->min = series->max = (double)NAN;
    for (size_t i = next_kept(series, 0, end); i < end; i = next_kept(series, i + 1, end)) {
        struct dbr_bucket bucket = dbr_series_bucket(series, i);
        if (bucket.state != DBR_BUCKET_VALUE)
            continue;
        series->min = series->min <= bucket.min ? series->min : bucket.min;
        series->max = series->max >= bucket.max ? series->max : bucket.max;
    }
}

static int64_t hold_of(enum dbr_quantity quantity, size_t of, const struct dbr_history *h)
{
    if (quantity == DBR_QUANTITY_ERRORS)
        return 0;
    if (quantity == DBR_QUANTITY_RATE_SETPOINT || quantity == DBR_QUANTITY_RATE_ACTUAL)
        return RATE_HOLD_NS;
    double periods = quantity == DBR_QUANTITY_SPEED
                         ? HOLD_PERIODS * h->sources[of].period_s * (double)NS_PER_S
                         : 0.0;
    return periods > HOLD_NS ? (int64_t)periods : HOLD_NS;
}

static void gather(struct dbr_history *h, struct dbr_series *items, enum dbr_quantity quantity,
                   const struct dbr_series_store *stores, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (stores[i].bucket_count == 0)
            continue;
        struct dbr_series *series = &items[h->series.count++];
        *series = (struct dbr_series){.quantity = quantity,
                                      .of = i,
                                      .by_mass = stores[i].by_mass,
                                      .hold_ns = hold_of(quantity, i, h),
                                      .step = stores[i].step,
                                      .bucket_count = stores[i].bucket_count,
                                      .store = &stores[i]};
        find_extremes(series);
        if (series->bucket_count > h->series.bucket_count)
            h->series.bucket_count = series->bucket_count;
    }
}

bool series_finish(struct series_pool *pool, struct dbr_history *h)
{
    size_t most = h->source_count + 2 * h->implement_count + 2 * h->bus_count;

    h->series = (struct dbr_series_set){.bucket_ns = pool->bucket_ns, .dropped = pool->dropped};
    pool->gathered = calloc(most > 0 ? most : 1, sizeof *pool->gathered);
    if (!pool->gathered || pool->out_of_memory)
        return false;
    h->series.items = pool->gathered;
    if (!h->timed)
        return true;
    gather(h, pool->gathered, DBR_QUANTITY_SPEED, pool->speeds, h->source_count);
    gather(h, pool->gathered, DBR_QUANTITY_RATE_SETPOINT, pool->setpoints, h->implement_count);
    gather(h, pool->gathered, DBR_QUANTITY_RATE_ACTUAL, pool->actuals, h->implement_count);
    gather(h, pool->gathered, DBR_QUANTITY_LOAD, pool->loads, h->bus_count);
    gather(h, pool->gathered, DBR_QUANTITY_ERRORS, pool->errors, h->bus_count);
    return true;
}
