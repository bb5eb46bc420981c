/* plain_bits.c - the plain way to count the bits of a frame, one by one: the oracle for the fast one. */
#include "support/plain_bits.h"

#include <stdbool.h>

/* ISO 11898-1: x^15 + x^14 + x^10 + x^8 + x^7 + x^4 + x^3 + 1, start 0. */
#define CRC15_POLYNOMIAL 0x4599u
#define CRC15_BITS 15u

#define STUFF_AFTER 5u /* equal bits in a row, then one of the other kind is put in */

/* Never stuffed: CRC delimiter, ACK slot and delimiter, 7 bits end of frame; 3 bits intermission. */
#define TRAILER_BITS (1u + 2u + 7u + 3u)

/* FD, 29-bit identifier: header, CRC-21 with its fixed stuff bits and count, trailer (ISO 11898-1). */
#define FD_OVERHEAD_BITS (41u + 28u + TRAILER_BITS)

/* The bits of a frame as they go out: each feeds the CRC and the stuffing rule. */
struct wire {
    uint16_t crc;
    unsigned bits;
    unsigned stuffed;
    unsigned run; /* equal bits in a row, stuff bits included */
    bool last;
};

static void put_bit(struct wire *w, bool bit)
{
    w->bits++;
    w->run = w->run > 0 && bit == w->last ? w->run + 1 : 1;
    w->last = bit;
    if (w->run == STUFF_AFTER) {
        w->stuffed++;
        w->last = !bit; /* the inserted bit begins the next run */
        w->run = 1;
    }
}

static void put_bits(struct wire *w, uint32_t value, unsigned count)
{
    while (count-- > 0) {
        bool bit = value >> count & 1u;
        bool feed = bit != (w->crc >> (CRC15_BITS - 1) & 1u);
        w->crc = (uint16_t)(((unsigned)w->crc << 1 & 0x7FFFu) ^ (feed ? CRC15_POLYNOMIAL : 0u));
        put_bit(w, bit);
    }
}

static void put_crc(struct wire *w)
{
    for (unsigned i = CRC15_BITS; i-- > 0;)
        put_bit(w, w->crc >> i & 1u);
}

/* Start of frame to the last data bit. Dominant is 0. */
static void put_header_and_data(struct wire *w, const struct dbr_frame *frame)
{
    bool remote = frame->flags & DBR_FRAME_REMOTE;

    put_bits(w, 0, 1); /* start of frame */
    if (frame->flags & DBR_FRAME_EXTENDED) {
        put_bits(w, frame->id >> 18, 11);
        put_bits(w, 3, 2); /* SRR, IDE */
        put_bits(w, frame->id & 0x3FFFFu, 18);
    } else {
        put_bits(w, frame->id, 11);
    }
    put_bits(w, remote, 1);
    put_bits(w, 0, 2); /* r1 r0; in the base format IDE r0 */
    put_bits(w, frame->raw_dlc ? frame->raw_dlc : frame->length, 4);
    for (unsigned i = 0; !remote && i < frame->length; i++)
        put_bits(w, frame->data[i], 8);
}

uint16_t plain_crc15(const struct dbr_frame *frame)
{
    struct wire w = {0};

    put_header_and_data(&w, frame);
    return w.crc;
}

unsigned plain_bits(const struct dbr_frame *frame)
{
    struct wire w = {0};

    if (frame->flags & DBR_FRAME_ERROR)
        return 0;
    if (frame->flags & DBR_FRAME_FD)
        return FD_OVERHEAD_BITS + 8u * frame->length;
    put_header_and_data(&w, frame);
    put_crc(&w);
    return w.bits + w.stuffed + TRAILER_BITS;
}
