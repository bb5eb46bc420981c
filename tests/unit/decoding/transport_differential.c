/*
 * The transport layer against a plain second reading of the same frames
 * (support/plain_transport.h): random conversations at once, with frames lost, repeated,
 * out of order and made up. A failure names its seed.
 */
#include <criterion/criterion.h>
#include <stdlib.h>

#include "support/plain_transport.h"
#include "support/transfer_talk.h"

#define SEEDS 3000u
#define HIGHEST 3u /* addresses 0..3: few, so that they meet often */
#define FRAMES_MAX 4000u
#define MS INT64_C(1000000)

static uint64_t state;

/* A number below `below` (Knuth, TAOCP 2, 3.3.4, line 26, with 64 bits). */
static unsigned draw(unsigned below)
{
    state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(state >> 33) % below;
}

static bool one_in(unsigned n)
{
    return draw(n) == 0;
}

static struct dbr_frame frames[FRAMES_MAX];
static size_t frame_count;

/* A conversation while it is made up. */
struct talk {
    int64_t now;
    uint8_t interface, from, to;
    unsigned pgn, size, packets, seed;
    unsigned lost; /* one in so many; 0: none */
};

static int64_t pause(void)
{
    return one_in(60) ? draw(1600) * MS : draw(40) * MS;
}

static void put(struct talk *t, bool forth, unsigned group, const uint8_t data[8])
{
    t->now += pause();
    unsigned copies = t->lost && one_in(t->lost) ? 0 : t->lost && one_in(t->lost) ? 2 : 1;
    for (; copies > 0 && frame_count < FRAMES_MAX; copies--) {
        frames[frame_count] = talk_frame(t->now, group, forth ? t->from : t->to,
                                         forth ? t->to : t->from, data);
        frames[frame_count++].interface = t->interface;
    }
}

static void control(struct talk *t, bool forth, unsigned first, unsigned a, unsigned bytes,
                    unsigned b)
{
    uint8_t d[8] = {(uint8_t)first, 0xFF, 0xFF, 0xFF, 0xFF, (uint8_t)t->pgn,
                    (uint8_t)(t->pgn >> 8), (uint8_t)(t->pgn >> 16)};

    for (unsigned i = 0; i < bytes; i++)
        d[1 + i] = (uint8_t)(a >> 8 * i);
    if (first == 16 || first == 32 || first == 19)
        d[3] = (uint8_t)b;
    else if (first == 17 || first == 21 || first == 22)
        for (unsigned i = 0; i < (first == 17 ? 1u : 3u); i++)
            d[2 + i] = (uint8_t)(b >> 8 * i);
    put(t, forth, first == 255 ? (t->size > 1785 ? 51200 : 60416)
                  : first >= 20 && first <= 23 ? 51200 : 60416, d);
}

static void packet(struct talk *t, unsigned number, unsigned base)
{
    uint8_t d[8] = {(uint8_t)(number - base)};

    for (unsigned i = 0; i < 7; i++)
        d[1 + i] = (uint8_t)(t->seed + (7 * (number - 1) + i) * 31 + (one_in(2000) ? 1 : 0));
    put(t, true, t->size > 1785 ? 50944 : 60160, d);
}

static void broadcast(struct talk *t)
{
    t->to = 255;
    control(t, true, 32, t->size, 2, t->packets);
    for (unsigned i = 1; i <= t->packets; i++)
        packet(t, i, 0);
}

/* Grants some, holds, asks again, is forged, gives up; or goes through. */
static void connection(struct talk *t)
{
    bool etp = t->size > 1785;
    unsigned next = 1;

    control(t, true, etp ? 20 : 16, t->size, etp ? 4 : 2, t->packets);
    if (one_in(12))
        control(t, true, etp ? 20 : 16, t->size, etp ? 4 : 2, t->packets);
    while (next <= t->packets) {
        unsigned count = 1 + draw(etp ? 255 : 40), base = etp ? next - 1 : 0;
        if (one_in(25))
            control(t, false, etp ? 21 : 17, 0, 1, next);
        if (one_in(60))
            control(t, false, etp ? 21 : 17, draw(256), 1, draw(600));
        control(t, false, etp ? 21 : 17, count, 1, next);
        if (etp)
            control(t, true, 22, one_in(30) ? count + 1 : count, 1, base);
        for (unsigned i = next; i < next + count && i <= t->packets; i++)
            packet(t, i, base);
        if (one_in(40)) {
            control(t, one_in(2), 255, 1 + draw(20), 1, 0);
            if (one_in(2))
                return;
        }
        next += count;
        if (one_in(8) && next > 2)
            next -= 1 + draw(next > 30 ? 30 : next - 1);
    }
    if (!one_in(10))
        control(t, false, etp ? 23 : 19, one_in(30) ? t->size + 1 : t->size, etp ? 4 : 2,
                t->packets);
}

static void fast_packet(struct talk *t)
{
    unsigned size = 1 + draw(223), count = size <= 6 ? 1 : 1 + (size - 6 + 6) / 7;
    unsigned sequence = draw(3);

    t->to = 255;
    for (unsigned i = 0; i < count; i++) {
        uint8_t d[8] = {(uint8_t)(sequence << 5 | i), (uint8_t)size};
        for (unsigned k = i ? 1 : 2; k < 8; k++)
            d[k] = (uint8_t)(t->seed + i * 57 + k * 13);
        put(t, true, PLAIN_FAST_GROUP, d);
    }
}

static void make_talk(unsigned lost)
{
    static const unsigned groups[] = {65259, 65226, 59136};
    struct talk t = {.now = draw(4000) * MS, .interface = (uint8_t)draw(2),
                     .from = (uint8_t)draw(HIGHEST + 1), .to = (uint8_t)draw(HIGHEST + 1),
                     .pgn = groups[draw(3)], .seed = draw(256), .lost = lost};
    unsigned kind = draw(8);

    t.size = kind == 0 ? 1786 + draw(2200) : 1 + draw(one_in(4) ? 1785 : 90);
    t.packets = one_in(60) ? draw(256) : (t.size + 6) / 7;
    if (kind < 4)
        connection(&t);
    else if (kind < 6 && t.size <= 1785)
        broadcast(&t);
    else
        fast_packet(&t);
}

static int by_time(const void *x, const void *y)
{
    const struct dbr_frame *a = x, *b = y;

    if (a->at_ns != b->at_ns)
        return a->at_ns < b->at_ns ? -1 : 1;
    return (a > b) - (a < b);
}

/* Frames of one moment in any order; some change places with their neighbour's content. */
static void make_recording(unsigned seed)
{
    state = seed;
    frame_count = 0;
    unsigned lost = one_in(3) ? 0 : 10 + draw(200);
    for (unsigned talks = 1 + draw(10); talks > 0; talks--)
        make_talk(lost);
    int64_t end = 0;
    for (size_t i = 0; i < frame_count; i++)
        end = frames[i].at_ns > end ? frames[i].at_ns : end;
    /* others keep both buses alive, but for a pause now and then */
    for (uint8_t interface = 0; interface < 2; interface++)
        for (int64_t at = 0; at < end && frame_count < FRAMES_MAX;
             at += (one_in(40) ? 900 + draw(1500) : 20 + draw(400)) * MS) {
            frames[frame_count] = talk_frame(at, 65262, 9, 255, (const uint8_t[8]){0});
            frames[frame_count++].interface = interface;
        }
    qsort(frames, frame_count, sizeof *frames, by_time);
    for (size_t i = 1; lost && i < frame_count; i++)
        if (one_in(lost)) {
            struct dbr_frame first = frames[i - 1];
            int64_t at = frames[i].at_ns;
            frames[i - 1] = frames[i];
            frames[i - 1].at_ns = first.at_ns;
            frames[i] = first;
            frames[i].at_ns = at;
        }
}

/* Frames of the five groups with any bytes, near enough to sense that some begin transfers. */
static void make_noise(unsigned seed)
{
    static const unsigned groups[] = {60416, 60416, 60160, 51200, 51200, 50944, PLAIN_FAST_GROUP};
    static const uint8_t controls[] = {16, 17, 19, 20, 21, 22, 23, 32, 255};
    int64_t now = 0;

    state = seed;
    for (frame_count = 0; frame_count < 600; frame_count++) {
        unsigned group = groups[draw(7)], small = one_in(3) ? 256 : 8;
        uint8_t d[8];
        for (unsigned i = 0; i < 8; i++)
            d[i] = (uint8_t)draw(small);
        if (group == 60416 || group == 51200) {
            d[0] = one_in(20) ? (uint8_t)draw(256) : controls[draw(9)];
            d[5] = (uint8_t)draw(2);
            d[6] = 0xFE;
            d[7] = 0;
        }
        if (d[0] == 16 || d[0] == 32)
            d[3] = one_in(6) ? d[3] : (uint8_t)((d[1] + 256 * d[2] + 6) / 7);
        if (group == 51200) /* the plain one has no room for more than 4096 bytes */
            d[2] = d[0] == 20 ? d[2] % 16 : d[2], d[3] = d[4] = 0;
        now += one_in(100) ? draw(3000) * MS : draw(30) * MS;
        frames[frame_count] = talk_frame(now, group, (uint8_t)draw(HIGHEST + 1),
                                         one_in(3) ? 255 : (uint8_t)draw(HIGHEST + 1), d);
        frames[frame_count].interface = (uint8_t)one_in(5);
    }
}

static uint64_t ends_seen[DBR_TRANSFER_UNFINISHED + 1];

static void compare(unsigned seed)
{
    char difference[1024];

    cr_assert(plain_agrees(frames, frame_count, HIGHEST, ends_seen, difference, sizeof difference),
              "seed %u: %s", seed, difference);
}

Test(decoding_transport, a_plain_second_reading_agrees)
{
    for (unsigned seed = 1; seed <= SEEDS; seed++) {
        make_recording(seed);
        compare(seed);
    }
    for (unsigned seed = 1; seed <= SEEDS / 3; seed++) {
        make_noise(seed);
        compare(seed);
    }
    /* the drawing of lots reached every way to end, many times */
    for (int end = 0; end <= DBR_TRANSFER_UNFINISHED; end++)
        cr_assert_gt(ends_seen[end], 100, "end %d: %lu", end, (unsigned long)ends_seen[end]);
}
