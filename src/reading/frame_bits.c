/* frame_bits.c - see frame_bits.h. */
#include "reading/frame_bits.h"

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

/* Of a byte in stuff_group: where the bits put in are counted. */
#define STUFFED_SHIFT 6u
#define STUFFED_MASK 0xC0u

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

static uint8_t stuff_bits(uint8_t state, unsigned bits, unsigned count)
{
    unsigned put_in = 0;

    for (unsigned i = count; i-- > 0;)
        state = stuff_bit(state, bits >> i & 1u, &put_in);
    return (uint8_t)(put_in << 4 | state);
}

/* Eight more bits, all 0, behind what a CRC stands for. */
static uint16_t crc_shift_byte(unsigned crc)
{
    for (unsigned i = 0; i < 8; i++)
        crc = (crc & 1u << (CRC15_BITS - 1)) ? crc << 1 ^ CRC15_POLYNOMIAL : crc << 1;
    return (uint16_t)(crc & CRC15_MASK);
}

/* What a group of bits does to each state. */
static uint64_t stuff_each_state(unsigned bits)
{
    uint64_t all = 0;

    for (uint8_t state = 0; state < STUFF_STATES; state++) {
        uint8_t entry = stuff_bits(state, bits, GROUP_BITS);
        uint64_t byte = (uint64_t)(entry >> 4) << STUFFED_SHIFT | (entry & 7u) << 3;
        all |= byte << 8 * state;
    }
    return all;
}

void bit_tables_init(struct bit_tables *tables)
{
    for (unsigned byte = 0; byte < 256; byte++) {
        tables->crc[0][byte] = crc_shift_byte(byte << (CRC15_BITS - 8));
        for (unsigned i = 1; i < MESSAGE_BYTES; i++)
            tables->crc[i][byte] = crc_shift_byte(tables->crc[i - 1][byte]);
    }
    for (uint8_t state = 0; state < STUFF_STATES; state++)
        for (unsigned bits = 0; bits < 256; bits++)
            tables->stuff[state][bits] = stuff_bits(state, bits, 8);
    for (unsigned bits = 0; bits < 1u << GROUP_BITS; bits++)
        tables->stuff_group[bits] = stuff_each_state(bits);
    for (unsigned i = 0; i < HEADERS_REMEMBERED; i++)
        tables->headers[i].known = 0;
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
                      t->crc[0][(crc >> (CRC15_BITS - 8) ^ byte) & 0xFFu]);
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

/* Ten more bits after `before`, whose lowest bits are a state times 8; the same of what follows. */
static unsigned stuff_group(const struct bit_tables *t, unsigned before, uint64_t bits)
{
    uint64_t each = t->stuff_group[bits & ((1u << GROUP_BITS) - 1)];

    return (unsigned)(each >> (before & (STUFFED_MASK ^ 0xFFu)));
}

/* A CRC that starts at 0 is the sum of what each byte gives by itself: 5 bytes of header. */
static unsigned header_crc(const struct bit_tables *t, uint64_t header)
{
    unsigned crc = 0;

    for (unsigned i = 8; i < MESSAGE_BYTES; i++)
        crc ^= t->crc[i][header >> 8 * (i - 8) & 0xFFu];
    return crc;
}

/* 39 bits of header, and before them a 1, after which the start of frame begins a run. */
static const struct header_memo *memo_of(struct bit_tables *t, const struct dbr_frame *frame)
{
    struct header_memo *memo = &t->headers[(frame->id ^ frame->id >> 8) % HEADERS_REMEMBERED];

    if (memo->known && memo->id == frame->id)
        return memo;
    uint64_t header = header_of(frame), bits = UINT64_C(1) << EXTENDED_HEADER_BITS | header;
    unsigned put_in = 0, after = 0;
    for (unsigned shift = 4 * GROUP_BITS; shift > 0; shift -= GROUP_BITS) {
        after = stuff_group(t, after, bits >> (shift - GROUP_BITS));
        put_in += (after & STUFFED_MASK) >> STUFFED_SHIFT;
    }
    *memo = (struct header_memo){.id = frame->id,
                                 .crc = (uint16_t)header_crc(t, header),
                                 .known = 1,
                                 .state = (uint8_t)(after & (STUFFED_MASK ^ 0xFFu)),
                                 .put_in = (uint8_t)put_in};
    return memo;
}

/* The usual message: 29-bit identifier, 8 bytes. 64 bits of data, 15 of CRC, and one more that
 * differs from the last and so needs nothing are 8 groups. */
static unsigned message_stuff_bits(struct bit_tables *t, const struct dbr_frame *frame)
{
    const struct header_memo *memo = memo_of(t, frame);
    unsigned crc = memo->crc, after = memo->state, stuffed = 0;
    uint64_t data = 0;

    for (unsigned i = 0; i < 8; i++) {
        crc ^= t->crc[7 - i][frame->data[i]];
        data = data << 8 | frame->data[i];
    }
    for (unsigned shift = 64; shift > 4; shift -= GROUP_BITS) {
        after = stuff_group(t, after, data >> (shift - GROUP_BITS));
        stuffed += after & STUFFED_MASK;
    }
    after = stuff_group(t, after, data << 6 | crc >> 9);
    stuffed += after & STUFFED_MASK;
    after = stuff_group(t, after, crc << 1 | (~crc & 1u));
    stuffed += after & STUFFED_MASK;
    return memo->put_in + (stuffed >> STUFFED_SHIFT);
}

static bool is_usual(const struct dbr_frame *frame)
{
    return frame->flags == DBR_FRAME_EXTENDED && frame->length == 8 && frame->raw_dlc == 0;
}

unsigned frame_bits(struct bit_tables *t, const struct dbr_frame *frame)
{
    if (is_usual(frame))
        return EXTENDED_HEADER_BITS + 64u + CRC15_BITS + message_stuff_bits(t, frame) +
               TRAILER_BITS;
    if (frame->flags & DBR_FRAME_ERROR)
        return 0;
    if (frame->flags & DBR_FRAME_FD)
        return FD_OVERHEAD_BITS + 8u * frame->length;
    return header_bits(frame) + 8u * data_bytes(frame) + CRC15_BITS + stuff_bits_of(t, frame) +
           TRAILER_BITS;
}
