/* story_long.c - see story_long.h. */
#include "support/story_long.h"

#include <stdio.h>
#include <string.h>

#define STEP_S 0.005
#define GRANT 16u        /* packets at once */
#define TP_BYTES 1785u   /* the most that TP carries: 255 packets of 7 bytes */

struct talk {
    struct story *story;
    const struct long_message *m;
    double now;
    bool extended;
};

static void say(struct talk *t, bool back, uint32_t pgn, const uint8_t bytes[8])
{
    char hex[17];

    for (unsigned i = 0; i < 8; i++)
        snprintf(hex + 2 * i, 3, "%02X", bytes[i]);
    story_frame(t->story, t->now,
                story_id(7, pgn, back ? t->m->from : t->m->to, back ? t->m->to : t->m->from), hex);
    t->now += STEP_S;
}

/* Bytes 6 to 8: the group. */
static void control(struct talk *t, bool back, uint8_t bytes[8])
{
    bytes[5] = (uint8_t)t->m->pgn;
    bytes[6] = (uint8_t)(t->m->pgn >> 8);
    bytes[7] = (uint8_t)(t->m->pgn >> 16);
    say(t, back, t->extended ? 51200 : 60416, bytes);
}

static void put(uint8_t *at, size_t value, unsigned width)
{
    for (unsigned i = 0; i < width; i++)
        at[i] = (uint8_t)(value >> 8 * i);
}

static void announce(struct talk *t, size_t packets)
{
    uint8_t bytes[8] = {t->extended ? 0x14 : t->m->to == 255 ? 0x20 : 0x10, 0, 0, 0, 0xFF};

    put(bytes + 1, t->m->length, t->extended ? 4 : 2);
    if (!t->extended)
        bytes[3] = (uint8_t)packets;
    control(t, false, bytes);
}

static void grant(struct talk *t, size_t first, size_t count)
{
    uint8_t bytes[8] = {t->extended ? 0x15 : 0x11, (uint8_t)count, (uint8_t)first, 0xFF, 0xFF};

    put(bytes + 2, first, t->extended ? 3 : 1);
    control(t, true, bytes);
    if (!t->extended)
        return;
    uint8_t offset[8] = {0x16, (uint8_t)count};
    put(offset + 2, first - 1, 3);
    control(t, false, offset);
}

static void data(struct talk *t, size_t packet, size_t sequence)
{
    uint8_t bytes[8];
    size_t at = (packet - 1) * 7, left = t->m->length - at;

    memset(bytes, 0xFF, sizeof bytes);
    bytes[0] = (uint8_t)sequence;
    memcpy(bytes + 1, t->m->data + at, left < 7 ? left : 7);
    if (packet != t->m->skip)
        say(t, false, t->extended ? 50944 : 60160, bytes);
    else
        t->now += STEP_S;
    if (t->m->to == 255)
        t->now += 10 * STEP_S; /* ISO 11783-3: 10 to 200 ms apart */
}

static void acknowledge(struct talk *t, size_t packets)
{
    uint8_t bytes[8] = {t->extended ? 0x17 : 0x13, 0, 0, 0, 0xFF};

    put(bytes + 1, t->m->length, t->extended ? 4 : 2);
    if (!t->extended)
        bytes[3] = (uint8_t)packets;
    control(t, true, bytes);
}

double story_long(struct story *s, double at, const struct long_message *m)
{
    struct talk t = {s, m, at, m->length > TP_BYTES};
    size_t packets = (m->length + 6) / 7, first = 1;

    announce(&t, packets);
    for (size_t packet = 1; packet <= packets; packet++) {
        if (m->to != 255 && (packet - 1) % GRANT == 0) {
            size_t left = packets - packet + 1;
            first = packet;
            grant(&t, packet, left < GRANT ? left : GRANT);
        }
        if (m->stop_after > 0 && packet > m->stop_after)
            return t.now;
        data(&t, packet, t.extended ? packet - first + 1 : packet);
    }
    if (m->to != 255)
        acknowledge(&t, packets);
    return t.now;
}
