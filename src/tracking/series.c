/* series.c - see series.h. */
#include "tracking/series.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tracking/spells.h"

#define CHUNKS_A_SERIES (DBR_SERIES_BUCKETS_MAX / DBR_SERIES_CHUNK)
#define HALF_CHUNK (DBR_SERIES_CHUNK / 2)

/* First steps: what the messages themselves resolve (ISO 11783-7: 0.001 m/s; ISO 11783-11, DDI 6:
 * 1 mg/m2), so that usual values are kept as they came. */
#define SPEED_STEP 0.001
#define RATE_STEP 1e-6
#define LOAD_STEP 0.01

static void init_stores(struct series_pool *pool, struct dbr_series_store *stores, size_t count,
                        double step, bool counts)
{
    for (size_t i = 0; i < count; i++)
        stores[i] = (struct dbr_series_store){
            .pool = pool, .step = step, .steps_per_unit = 1 / step, .counts = counts};
}

void series_init(struct series_pool *pool)
{
    *pool = (struct series_pool){.bucket_ns = DBR_SERIES_BUCKET_NS};
    init_stores(pool, pool->speeds, DBR_SPEED_SOURCES_MAX, SPEED_STEP, false);
    init_stores(pool, pool->setpoints, DBR_IMPLEMENTS_MAX, RATE_STEP, false);
    init_stores(pool, pool->actuals, DBR_IMPLEMENTS_MAX, RATE_STEP, false);
    init_stores(pool, pool->loads, DBR_INTERFACES_MAX, LOAD_STEP, false);
    init_stores(pool, pool->errors, DBR_INTERFACES_MAX, 1, true);
}

/* Calls `visit` for every store. */
static void each_store(struct series_pool *pool, void (*visit)(struct dbr_series_store *))
{
    for (size_t i = 0; i < DBR_SPEED_SOURCES_MAX; i++)
        visit(&pool->speeds[i]);
    for (size_t i = 0; i < DBR_IMPLEMENTS_MAX; i++) {
        visit(&pool->setpoints[i]);
        visit(&pool->actuals[i]);
    }
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++) {
        visit(&pool->loads[i]);
        visit(&pool->errors[i]);
    }
}

void series_forget(struct dbr_series_store *s)
{
    for (size_t i = 0; s->chunks && i < CHUNKS_A_SERIES; i++) {
        s->pool->chunk_count -= s->chunks[i] != NULL;
        free(s->chunks[i]);
    }
    free(s->chunks);
    s->chunks = NULL;
    s->bucket_count = 0;
    s->from_ns = s->to_ns = 0;
}

void series_release(struct series_pool *pool)
{
    each_store(pool, series_forget);
    free(pool->gathered);
}

static void halve_into(struct series_chunk *to, size_t slot, const struct series_chunk *from,
                       bool counts)
{
    for (size_t k = 0; from && k < DBR_SERIES_CHUNK; k += 2) {
        struct series_cell cell = series_cell_at(from, k), next = series_cell_at(from, k + 1);
        series_cell_merge(&cell, &next, counts);
        to->sums[slot + k / 2] = cell.sum;
        to->lows[slot + k / 2] = cell.low;
        to->highs[slot + k / 2] = cell.high;
        to->counts[slot + k / 2] = cell.count;
    }
}

/* Two buckets become one, and so do two chunks. */
static void widen_store(struct dbr_series_store *s)
{
    s->from_ns = s->to_ns = 0;
    s->bucket_count = (s->bucket_count + 1) / 2;
    for (size_t i = 0; s->chunks && i < CHUNKS_A_SERIES; i += 2) {
        struct series_chunk *left = s->chunks[i], *right = s->chunks[i + 1];
        struct series_chunk merged = {.counts = {0}};
        s->chunks[i] = s->chunks[i + 1] = NULL;
        halve_into(&merged, 0, left, s->counts);
        halve_into(&merged, HALF_CHUNK, right, s->counts);
        s->chunks[i / 2] = left ? left : right;
        if (s->chunks[i / 2])
            *s->chunks[i / 2] = merged;
        if (left && right) {
            free(right);
            s->pool->chunk_count--;
        }
    }
}

static void widen(struct series_pool *pool)
{
    each_store(pool, widen_store);
    pool->bucket_ns *= 2;
}

/* Doubles the step. The extremes are rounded outwards. */
static void coarsen(struct dbr_series_store *s)
{
    s->step *= 2;
    s->steps_per_unit /= 2;
    for (size_t i = 0; s->chunks && i < CHUNKS_A_SERIES; i++) {
        struct series_chunk *c = s->chunks[i];
        for (size_t k = 0; c && k < DBR_SERIES_CHUNK; k++) {
            if (c->counts[k] == 0)
                continue;
            c->sums[k] /= 2;
            c->lows[k] = (int16_t)((c->lows[k] - (c->lows[k] < 0)) / 2);
            c->highs[k] = (int16_t)((c->highs[k] + (c->highs[k] > 0)) / 2);
        }
    }
}

/* A chunk for bucket `index`, NULL where memory is short. */
static struct series_chunk *get_chunk(struct dbr_series_store *s, size_t index)
{
    if (!s->chunks)
        s->chunks = calloc(CHUNKS_A_SERIES, sizeof(struct series_chunk *));
    if (!s->chunks)
        return NULL;
    struct series_chunk **chunk = &s->chunks[index / DBR_SERIES_CHUNK];
    if (!*chunk) {
        *chunk = calloc(1, sizeof **chunk);
        s->pool->chunk_count += *chunk != NULL;
    }
    return *chunk;
}

static bool needs_chunk(const struct dbr_series_store *s, int64_t at)
{
    return !s->chunks ||
           !s->chunks[(size_t)(at / s->pool->bucket_ns) / DBR_SERIES_CHUNK];
}

/* Makes the bucket of a time the one in use; false where memory is short. */
static bool seek(struct dbr_series_store *s, int64_t at)
{
    struct series_pool *pool = s->pool;

    while (at / pool->bucket_ns >= DBR_SERIES_BUCKETS_MAX)
        widen(pool);
    while (pool->chunk_count >= DBR_SERIES_CHUNKS_MAX && needs_chunk(s, at))
        widen(pool);
    size_t index = (size_t)(at / pool->bucket_ns);
    s->chunk = get_chunk(s, index);
    if (!s->chunk) {
        pool->out_of_memory = true;
        return false;
    }
    s->slot = index % DBR_SERIES_CHUNK;
    s->from_ns = (int64_t)index * pool->bucket_ns;
    s->to_ns = s->from_ns + pool->bucket_ns;
    if (index >= s->bucket_count)
        s->bucket_count = index + 1;
    return true;
}

static bool at_bucket(struct dbr_series_store *s, int64_t at)
{
    return (at >= s->from_ns && at < s->to_ns) || seek(s, at > 0 ? at : 0);
}

static void put(struct dbr_series_store *s, int16_t raw)
{
    struct series_chunk *c = s->chunk;
    size_t k = s->slot;

    if (c->counts[k] == UINT16_MAX) {
        c->counts[k] = s->counts ? UINT16_MAX - 1 : UINT16_MAX / 2;
        c->sums[k] = s->counts ? c->sums[k] - (c->sums[k] == INT32_MAX) : c->sums[k] / 2;
    }
    if (c->counts[k] == 0 || raw < c->lows[k])
        c->lows[k] = raw;
    if (c->counts[k] == 0 || raw > c->highs[k])
        c->highs[k] = raw;
    c->sums[k] += raw;
    c->counts[k]++;
}

void series_value(struct dbr_series_store *s, int64_t at_ns, double value)
{
    if (!isfinite(value)) {
        s->pool->dropped++;
        return;
    }
    while (fabs(value * s->steps_per_unit) > INT16_MAX)
        coarsen(s);
    if (at_bucket(s, at_ns))
        put(s, (int16_t)lrint(value * s->steps_per_unit));
}

void series_none(struct dbr_series_store *s, int64_t at_ns, enum dbr_value_status status)
{
    int16_t state =
        status == DBR_VALUE_ERROR ? DBR_BUCKET_ERROR : DBR_BUCKET_NOT_AVAILABLE;

    if (!at_bucket(s, at_ns))
        return;
    if (s->chunk->counts[s->slot] == 0 && s->chunk->lows[s->slot] < state)
        s->chunk->lows[s->slot] = state;
}
