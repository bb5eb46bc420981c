/*
 * fast_packet.c - messages of up to 223 bytes in frames of their own group (NMEA 2000).
 *
 * Byte 1: sequence counter in the three high bits, number of the frame in the five low
 * ones. The first frame holds the size and 6 bytes, the others 7 each.
 */
#include <string.h>

#include "decoding/transfers.h"

#define SIZE_MAX_BYTES 223u /* 6 + 31 * 7 */
#define FIRST_BYTES 6u
#define NEXT_BYTES 7u
#define FRAME_BITS 0x1Fu
#define SEQUENCE_SHIFT 5u

static uint32_t frames_of(uint32_t size)
{
    return size <= FIRST_BYTES ? 1 : 1 + (size - FIRST_BYTES + NEXT_BYTES - 1) / NEXT_BYTES;
}

/* A frame of an open message: its number is `packet` - 1. */
static void take(struct dbr_transport *t, const struct carried *c, struct session *s,
                 uint32_t packet)
{
    const struct dbr_frame *f = c->frame;
    uint32_t header = packet == 1 ? 2 : 1;
    uint32_t offset = packet == 1 ? 0 : FIRST_BYTES + (packet - 2) * NEXT_BYTES;
    uint32_t room = packet == 1 ? FIRST_BYTES : NEXT_BYTES;
    uint32_t left = s->seen.size - offset;
    uint32_t count = left < room ? left : room;

    if (f->length < header + count) {
        t->counts.stray_data++;
        return;
    }
    session_take(t, s, packet, offset, f->data + header, count);
    session_wait(t, s, WAIT_PACKET, DBR_TIMER_T1, f->at_ns);
    if (s->seen.breach != DBR_BREACH_NONE)
        session_end(t, s, DBR_TRANSFER_BROKEN, f->at_ns);
    else if (session_is_whole(s))
        session_end(t, s, DBR_TRANSFER_COMPLETE, f->at_ns);
}

/* The same first frame twice in a row is one that was recorded twice. */
static bool is_repeated(const struct session *s, const struct dbr_frame *f)
{
    uint32_t count = s->seen.size < FIRST_BYTES ? s->seen.size : FIRST_BYTES;

    return s->seen.received == 1 && s->seen.size == f->data[1] && s->data &&
           memcmp(s->data, f->data + 2, count) == 0;
}

static void first_frame(struct dbr_transport *t, const struct carried *c, uint64_t key)
{
    const struct dbr_frame *f = c->frame;
    struct session *s = session_find(t, key);

    if (s && !is_repeated(s, f)) {
        session_end(t, s, DBR_TRANSFER_REPLACED, f->at_ns);
        s = NULL;
    }
    if (!s)
        s = session_open(t, key, &(struct dbr_transfer){.interface = f->interface,
                                                        .source = c->id.source,
                                                        .destination = c->id.destination,
                                                        .priority = c->id.priority,
                                                        .pgn = c->id.pgn,
                                                        .carrier = DBR_CARRIER_FAST,
                                                        .start_ns = f->at_ns,
                                                        .size = f->data[1],
                                                        .packets = frames_of(f->data[1])});
    if (!s)
        return;
    if (s->seen.size == 0 || s->seen.size > SIZE_MAX_BYTES) {
        session_breach(s, DBR_BREACH_SIZE, s->seen.packets, 0);
        session_end(t, s, DBR_TRANSFER_BROKEN, f->at_ns);
        return;
    }
    take(t, c, s, 1);
}

void fast_frame(struct dbr_transport *t, const struct carried *c)
{
    const struct dbr_frame *f = c->frame;
    uint32_t sequence = f->data[0] >> SEQUENCE_SHIFT, number = f->data[0] & FRAME_BITS;
    uint64_t key = session_key(SESSION_FAST, f->interface, c->id.source, c->id.destination,
                               c->id.pgn << 3 | sequence);

    if (f->length < 2) {
        t->counts.stray_data++;
    } else if (number == 0) {
        first_frame(t, c, key);
    } else {
        struct session *s = session_find(t, key);
        if (s && number < s->seen.packets)
            take(t, c, s, number + 1);
        else
            t->counts.stray_data++;
    }
}
