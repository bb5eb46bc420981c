/* streams.c - see streams.h. */
#include "tracking/streams.h"

#include <math.h>
#include <stdlib.h>

#define SLOT_COUNT (4u * DBR_STREAMS_MAX)
_Static_assert((SLOT_COUNT & (SLOT_COUNT - 1)) == 0, "slots are picked with a mask");
_Static_assert(DBR_STREAMS_MAX < UINT16_MAX, "slots hold index + 1");

/* A beat: most intervals within a quarter of the median (common practice; timers of ECUs keep
 * 1 %, arbitration and task switching add milliseconds). */
#define STABLE_SHARE 0.8
#define STABLE_LOW 0.75
#define STABLE_HIGH 1.25
#define STABLE_INTERVALS 10u

/* J1939-21 and ISO 11783-7 know no broadcast faster than 10 ms; closer frames are parts of a whole. */
#define PERIOD_MIN_US 8000.0

/* Contract: "over 3 periods". Three lost beats make 4 periods; the half keeps jitter out. */
#define GAP_PERIODS 3.5

/* A sender slower than the standard's period up to this has that period; beyond, another mode. */
#define KNOWN_PERIOD_SLACK 1.5

/* All of the identifier that tells streams apart: not its priority. */
#define KEY_MASK 0x03FFFFFFu

static uint32_t slot_of(uint64_t key)
{
    uint64_t mixed = key * UINT64_C(0x9E3779B97F4A7C15);
    return (uint32_t)(mixed >> 40) & (SLOT_COUNT - 1u);
}

static struct stream *stream_new(uint8_t interface, uint32_t id, int64_t now)
{
    struct stream *st = calloc(1, sizeof *st);

    if (!st)
        return NULL;
    st->id = dbr_can_id_split(id);
    st->seen.interface = interface;
    st->seen.address = st->id.source;
    st->seen.destination = st->id.destination;
    st->seen.pgn = st->id.pgn;
    st->seen.broadcast = st->id.destination == DBR_ADDRESS_GLOBAL;
    st->seen.first_ns = now;
    return st;
}

static struct stream *find_or_make(struct streams *s, uint64_t key, uint8_t interface,
                                   uint32_t id, int64_t now)
{
    uint32_t slot = slot_of(key);

    while (s->slots[slot] != 0) {
        struct stream *st = s->items[s->slots[slot] - 1];
        if (st->key == key)
            return st;
        slot = (slot + 1) & (SLOT_COUNT - 1u);
    }
    if (s->count == DBR_STREAMS_MAX)
        return NULL;
    struct stream *st = stream_new(interface, id, now);
    if (!st) {
        s->out_of_memory = true;
        return NULL;
    }
    st->key = key;
    s->items[s->count++] = st;
    s->slots[slot] = (uint16_t)s->count;
    return st;
}

static uint64_t key_of(uint8_t interface, uint32_t id)
{
    return (uint64_t)interface << 32 | (id & KEY_MASK);
}

static size_t recent_place(uint64_t key)
{
    return (key ^ key >> 8) % STREAMS_RECENT;
}

struct stream *streams_find(struct streams *s, uint8_t interface, uint32_t id, int64_t now)
{
    uint64_t key = key_of(interface, id);
    struct stream **recent = &s->recent[recent_place(key)];

    if (!*recent || (*recent)->key != key)
        *recent = find_or_make(s, key, interface, id, now);
    return *recent;
}

static bool alike(uint64_t a, uint64_t b)
{
    return a * 4 >= b * 3 && a * 4 <= b * 5;
}

/* What is a gap shows at the end only: whatever its least is, the first one over it is kept. */
static void keep_longest(struct stream *st, uint64_t us)
{
    size_t bin = histogram_bin(us), count = st->longest_count;

    if (count == STREAM_LONGEST_MAX || (count > 0 && bin <= st->longest[count - 1].bin))
        return;
    st->longest[st->longest_count++] = (struct longest){st->seen.last_ns, bin};
}

static void measure(struct stream *st, uint64_t us)
{
    histogram_add(&st->all, us);
    if (alike(us, st->last_interval_us))
        histogram_add(&st->steady, us);
    else
        keep_longest(st, us);
    st->last_interval_us = us;
    double s = (double)us / 1e6;
    if (!(st->seen.cadence.longest_s >= s))
        st->seen.cadence.longest_s = s;
}

void stream_frame(struct stream *st, int64_t now, const struct bus *bus, uint64_t silences)
{
    bool undisturbed = bus->pauses == st->bus_pauses && silences == st->silences;

    if (st->seen.frames++ == 0)
        st->seen.cadence.longest_s = (double)NAN;
    else if (undisturbed)
        measure(st, (uint64_t)(now - st->seen.last_ns) / 1000u);
    st->bus_pauses = bus->pauses;
    st->silences = silences;
    st->seen.last_ns = now;
}

static double stable_share(const struct histogram *h, double median_us)
{
    uint64_t near = histogram_between(h, STABLE_LOW * median_us, STABLE_HIGH * median_us);
    return h->total ? (double)near / h->total : 0.0;
}

bool stream_is_periodic(const struct stream *st, double *period_s)
{
    double median_us = histogram_median(&st->all);

    *period_s = median_us / 1e6;
    return st->all.total >= STABLE_INTERVALS && median_us >= PERIOD_MIN_US &&
           stable_share(&st->all, median_us) >= STABLE_SHARE;
}

/* The period to judge gaps by: as measured where stable, else the standard's where it fits. */
static double judging_period(const struct stream *st, double median_s)
{
    double period_s;
    double known_s = st->seen.message ? st->seen.message->period_ms / 1e3 : 0.0;

    if (stream_is_periodic(st, &period_s))
        return period_s;
    if (known_s > 0 && median_s > 0 && median_s <= KNOWN_PERIOD_SLACK * known_s)
        return known_s;
    return (double)NAN;
}

/*
 * Missed beats stand alone among intervals of the usual length. Long intervals
 * that follow each other are another beat (a message that comes ten times a
 * second while engaged and once a second else), and no gap.
 */
static uint64_t gaps_over(const struct stream *st, double limit_us)
{
    uint64_t all = histogram_between(&st->all, limit_us, (double)INFINITY);
    uint64_t steady = histogram_between(&st->steady, limit_us, (double)INFINITY);
    return all > steady ? all - steady : 0;
}

static int64_t first_over(const struct stream *st, double limit_us)
{
    for (size_t i = 0; i < st->longest_count; i++)
        if (histogram_middle(st->longest[i].bin) >= limit_us)
            return st->longest[i].at_ns;
    return st->seen.first_ns;
}

void stream_finish(struct stream *st)
{
    struct dbr_cadence *c = &st->seen.cadence;
    double median_us = histogram_median(&st->all);

    c->intervals = st->all.total;
    c->median_s = c->period_s = (double)NAN;
    if (c->intervals == 0)
        return;
    c->median_s = median_us / 1e6;
    c->stable_share = stable_share(&st->all, median_us);
    c->period_s = judging_period(st, c->median_s);
    if (isnan(c->period_s))
        return;
    double limit_us = GAP_PERIODS * c->period_s * 1e6;
    c->over_three = gaps_over(st, limit_us);
    if (c->over_three > 0)
        c->first_over_ns = first_over(st, limit_us);
}

void streams_release(struct streams *s)
{
    for (size_t i = 0; i < s->count; i++)
        free(s->items[i]);
}
