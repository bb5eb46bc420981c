/* frame_bits.c - see frame_bits.h. */
#include "tracking/frame_bits.h"

#include <stdbool.h>

/* ISO 11898-1: x^15 + x^14 + x^10 + x^8 + x^7 + x^4 + x^3 + 1, start 0. */
#define CRC15_POLYNOMIAL 0x4599u
#define CRC15_BITS 15u
#define CRC15_MASK 0x7FFFu

#define STUFF_AFTER 5u /* equal bits in a row, then one of the other kind is put in */

/* Never stuffed: CRC delimiter, ACK slot and delimiter, 7 bits end of frame; 3 bits intermission. */
#define TRAILER_BITS (1u + 2u + 7u + 3u)

/* FD, 29-bit identifier: header, CRC-21 with its fixed stuff bits and count (ISO 11898-1). */
#define FD_OVERHEAD_BITS (41u + 28u + TRAILER_BITS)

/* Start of frame to data length code: base format, extended format. */
#define HEADER_BITS 19u
#define EXTENDED_HEADER_BITS 39u

/* A state is the last bit (1) and how often it stands there less one (2 bits). */
static uint8_t stuff_bit(uint8_t state, bool bit, unsigned *put_in)
{
    bool last = state >> 2;
    unsigned run = bit == last ? (state & 3u) + 2 : 1;

    if (run < STUFF_AFTER)
        return (uint8_t)((unsigned)bit << 2 | (run - 1));
    ++*put_in;
    return (uint8_t)((unsigned)!bit << 2); /* the bit put in begins the next run */
}

static uint8_t stuff_byte(uint8_t state, unsigned byte)
{
    unsigned put_in = 0;

    for (unsigned i = 8; i-- > 0;)
        state = stuff_bit(state, byte >> i & 1u, &put_in);
    return (uint8_t)(put_in << 4 | state);
}

static uint16_t crc_byte(unsigned byte)
{
    unsigned crc = byte << (CRC15_BITS - 8);

    for (unsigned i = 0; i < 8; i++)
        crc = crc & 1u << (CRC15_BITS - 1) ? crc << 1 ^ CRC15_POLYNOMIAL : crc << 1;
    return (uint16_t)(crc & CRC15_MASK);
}

void bit_tables_init(struct bit_tables *tables)
{
    for (unsigned byte = 0; byte < 256; byte++) {
        tables->crc[byte] = crc_byte(byte);
        for (uint8_t state = 0; state < STUFF_STATES; state++)
            tables->stuff[state][byte] = stuff_byte(state, byte);
    }
}

/* Start of frame to data length code as one number, first bit highest. Dominant is 0. */
static uint64_t header_of(const struct dbr_frame *frame)
{
    uint64_t remote = frame->flags & DBR_FRAME_REMOTE ? 1 : 0;
    uint64_t code = frame->raw_dlc ? frame->raw_dlc : frame->length;

    /* base identifier, RTR, two reserved bits, length code */
    if (!(frame->flags & DBR_FRAME_EXTENDED))
        return (uint64_t)frame->id << 7 | remote << 6 | code;
    /* base identifier, SRR and IDE recessive, rest of the identifier, and so on */
    return (uint64_t)(frame->id >> 18) << 27 | UINT64_C(3) << 25 |
           (uint64_t)(frame->id & 0x3FFFFu) << 7 | remote << 6 | code;
}

static unsigned header_bits(const struct dbr_frame *frame)
{
    return frame->flags & DBR_FRAME_EXTENDED ? EXTENDED_HEADER_BITS : HEADER_BITS;
}

static unsigned data_bytes(const struct dbr_frame *frame)
{
    return frame->flags & DBR_FRAME_REMOTE ? 0 : frame->length;
}

static uint16_t feed_crc(const struct bit_tables *t, uint16_t crc, unsigned byte)
{
    return (uint16_t)(((unsigned)crc << 8 & CRC15_MASK) ^
                      t->crc[(crc >> (CRC15_BITS - 8) ^ byte) & 0xFFu]);
}

/* Zeros before the first bit leave a CRC that starts at 0 as it is: whole bytes can be fed. */
uint16_t frame_crc15(const struct bit_tables *t, const struct dbr_frame *frame)
{
    uint64_t header = header_of(frame);
    uint16_t crc = 0;

    for (unsigned shift = 40; shift > 0; shift -= 8)
        crc = feed_crc(t, crc, (unsigned)(header >> (shift - 8)) & 0xFFu);
    for (unsigned i = 0; i < data_bytes(frame); i++)
        crc = feed_crc(t, crc, frame->data[i]);
    return crc;
}

/* Bits on their way through the stuffing table, up to 7 of them waiting for a whole byte. */
struct stuffer {
    const struct bit_tables *tables;
    uint64_t waiting;
    unsigned count;
    unsigned put_in;
    uint8_t state;
};

static void stuff(struct stuffer *s, uint64_t bits, unsigned count)
{
    s->waiting = s->waiting << count | bits;
    s->count += count;
    while (s->count >= 8) {
        s->count -= 8;
        uint8_t entry = s->tables->stuff[s->state][s->waiting >> s->count & 0xFFu];
        s->put_in += entry >> 4;
        s->state = entry & 7u;
    }
}

/*
 * Alternating bits that end with 1 fill up the front to whole bytes: they need no
 * stuffing, and the start of frame, a 0, begins a run after them.
 */
static unsigned stuff_bits_of(const struct bit_tables *t, const struct dbr_frame *frame)
{
    struct stuffer s = {.tables = t, .state = 0};
    unsigned bits = header_bits(frame) + CRC15_BITS;
    unsigned front = (8u - bits % 8u) % 8u;

    stuff(&s, 0x55u & ((1u << front) - 1), front);
    stuff(&s, header_of(frame), header_bits(frame));
    for (unsigned i = 0; i < data_bytes(frame); i++)
        stuff(&s, frame->data[i], 8);
    stuff(&s, frame_crc15(t, frame), CRC15_BITS);
    return s.put_in;
}

unsigned frame_bits(const struct bit_tables *t, const struct dbr_frame *frame)
{
    if (frame->flags & DBR_FRAME_ERROR)
        return 0;
    if (frame->flags & DBR_FRAME_FD)
        return FD_OVERHEAD_BITS + 8u * frame->length;
    return header_bits(frame) + 8u * data_bytes(frame) + CRC15_BITS + stuff_bits_of(t, frame) +
           TRAILER_BITS;
}
