/* series_code.c - see series_code.h. Packing one level; the choice of levels: series_levels.c. */
#include "reporting/series_code.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#define CODE_DELTAS 240u
#define CODE_ABSOLUTE 240u
#define CODE_EMPTY 253u
#define CODE_NOT_AVAILABLE 254u
#define CODE_ERROR 255u

/* Bytes that grow; `failed` once memory ran short. Bounded by the buckets of a series. */
struct buffer {
    uint8_t *data;
    size_t length, capacity;
    bool failed;
};

static void put(struct buffer *b, unsigned byte)
{
    if (b->length == b->capacity) {
        size_t capacity = b->capacity > 0 ? b->capacity * 2 : 4096;
        uint8_t *data = realloc(b->data, capacity);
        if (!data) {
            b->failed = true;
            return;
        }
        b->data = data;
        b->capacity = capacity;
    }
    b->data[b->length++] = (uint8_t)byte;
}

static void put_32(struct buffer *b, uint32_t value)
{
    for (unsigned i = 0; i < 4; i++)
        put(b, value >> 8 * i & 0xFFu);
}

static void put_number(struct buffer *b, uint64_t value)
{
    for (; value > 0x7F; value >>= 7)
        put(b, (value & 0x7F) | 0x80u);
    put(b, (unsigned)value);
}

static void put_mean(struct buffer *b, int64_t mean, int64_t before)
{
    int64_t delta = mean - before;
    int64_t code = delta >= 0 ? 2 * delta : -2 * delta - 1;

    if (code < CODE_DELTAS) {
        put(b, (unsigned)code);
        return;
    }
    put(b, CODE_ABSOLUTE);
    put_32(b, (uint32_t)(int32_t)mean);
}

static unsigned coarse_index(uint64_t spread)
{
    unsigned i = 1;

    if (spread <= 2)
        return 0;
    while (i < 15 && UINT64_C(2) << i < spread)
        i++;
    return i;
}

static void put_spread(struct buffer *b, uint64_t up, uint64_t down, bool exact)
{
    unsigned above = coarse_index(up), below = coarse_index(down);

    if (!exact)
        put(b, above << 4 | below);
    if (exact || above == 15)
        put_number(b, up);
    if (exact || below == 15)
        put_number(b, down);
}

static int64_t in_steps(double value, double step)
{
    double steps = round(value / step);
    return steps > INT32_MAX ? INT32_MAX : steps < INT32_MIN ? INT32_MIN : (int64_t)steps;
}

static void put_value(struct buffer *means, struct buffer *spreads, const struct dbr_bucket *bucket,
                      const struct series_level *level, int64_t *before)
{
    int64_t mean = in_steps(bucket->mean, level->step);
    int64_t high = in_steps(bucket->max, level->step), low = in_steps(bucket->min, level->step);

    put_mean(means, mean, *before);
    put_spread(spreads, high > mean ? (uint64_t)(high - mean) : 0,
               mean > low ? (uint64_t)(mean - low) : 0, level->exact);
    *before = mean;
}

static unsigned state_code(enum dbr_bucket_state state)
{
    return state == DBR_BUCKET_ERROR           ? CODE_ERROR
           : state == DBR_BUCKET_NOT_AVAILABLE ? CODE_NOT_AVAILABLE
                                               : CODE_EMPTY;
}

static void put_run(struct buffer *means, enum dbr_bucket_state state, uint64_t *run)
{
    if (*run > 0) {
        put(means, state_code(state));
        put_number(means, *run);
    }
    *run = 0;
}

size_t series_level_count(const struct dbr_series *series, const struct series_level *level)
{
    return (series->bucket_count + level->span - 1) / level->span;
}

static void put_buckets(struct buffer *means, struct buffer *spreads,
                        const struct dbr_series *series, const struct series_level *level)
{
    size_t count = series_level_count(series, level);
    enum dbr_bucket_state state = DBR_BUCKET_VALUE;
    uint64_t run = 0;
    int64_t before = 0;

    for (size_t i = 0; i < count; i++) {
        struct dbr_bucket bucket = dbr_series_span(series, i * level->span, level->span);
        if (bucket.state != state)
            put_run(means, state, &run);
        state = bucket.state;
        if (state == DBR_BUCKET_VALUE)
            put_value(means, spreads, &bucket, level, &before);
        else
            run++;
    }
    put_run(means, state, &run);
}

static char *base64(const uint8_t *data, size_t length)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char *text = malloc((length + 2) / 3 * 4 + 1), *out = text;

    for (size_t i = 0; text && i < length; i += 3) {
        size_t left = length - i;
        uint32_t bits = (uint32_t)data[i] << 16 | (left > 1 ? (uint32_t)data[i + 1] << 8 : 0) |
                        (left > 2 ? data[i + 2] : 0u);
        *out++ = digits[bits >> 18 & 63];
        *out++ = digits[bits >> 12 & 63];
        *out++ = left > 1 ? digits[bits >> 6 & 63] : '=';
        *out++ = left > 2 ? digits[bits & 63] : '=';
    }
    if (text)
        *out = '\0';
    return text;
}

/* Returns how many bytes were written, 0 on failure. */
static size_t deflate_with(int strategy, const void *bytes, size_t count, uint8_t *packed,
                           size_t room)
{
    z_stream z = {.next_in = (z_const Bytef *)bytes,
                  .avail_in = (uInt)count,
                  .next_out = packed,
                  .avail_out = (uInt)room};

    if (deflateInit2(&z, Z_BEST_COMPRESSION, Z_DEFLATED, MAX_WBITS, MAX_MEM_LEVEL, strategy) != Z_OK)
        return 0;
    int status = deflate(&z, Z_FINISH);
    size_t length = z.total_out;
    deflateEnd(&z);
    return status == Z_STREAM_END ? length : 0;
}

/* Noise has no repeats worth their words; what stands still has little else: the shorter counts. */
static char *deflate_to_text(const void *bytes, size_t count)
{
    size_t room = compressBound((uLong)count) + 64;
    uint8_t *packed = malloc(2 * room);
    char *text = NULL;

    if (!packed)
        return NULL;
    size_t repeats = deflate_with(Z_FILTERED, bytes, count, packed, room);
    size_t words = deflate_with(Z_HUFFMAN_ONLY, bytes, count, packed + room, room);
    if (repeats > 0 && words > 0)
        text = repeats <= words ? base64(packed, repeats) : base64(packed + room, words);
    free(packed);
    return text;
}

char *series_pack_text(const char *text)
{
    return deflate_to_text(text, strlen(text));
}

char *series_pack(const struct dbr_series *series, const struct series_level *level)
{
    struct buffer all = {0}, means = {0}, spreads = {0};
    char *text = NULL;

    put_buckets(&means, &spreads, series, level);
    put(&all, level->exact ? 0 : 1);
    put_32(&all, (uint32_t)means.length);
    for (size_t i = 0; i < means.length; i++)
        put(&all, means.data[i]);
    for (size_t i = 0; i < spreads.length; i++)
        put(&all, spreads.data[i]);
    if (!all.failed && !means.failed && !spreads.failed)
        text = deflate_to_text(all.data, all.length);
    free(all.data);
    free(means.data);
    free(spreads.data);
    return text;
}
