/*
 * frame_bits.h - how long a frame occupies the bus, in bit times.
 *
 * Source: ISO 11898-1 (frame format, bit stuffing, CRC-15), CAN 2.0B. Every frame
 * of a recording is measured, so CRC and stuffing go by tables: ten bits at a time
 * for messages with 29-bit identifier and 8 bytes, which nearly all are, and from
 * where their header, remembered by identifier, ends; a byte at a time for others.
 * The tests hold both against the plain way, bit by bit.
 */
#ifndef DRAWBAR_READING_FRAME_BITS_H
#define DRAWBAR_READING_FRAME_BITS_H

#include "drawbar/frame.h"

#define STUFF_STATES 8u /* last bit, and how often it stands there: 1 to 4 times */

#define MESSAGE_BYTES 13u   /* 39 bits of header, filled up in front, and 8 bytes of data */
#define GROUP_BITS 10u      /* stuffed at one time; 8 KiB of table stay in the nearest cache */
#define HEADERS_REMEMBERED 256u

/* Where the header of a message with 8 bytes of data leaves its stuffing and its CRC. */
struct header_memo {
    uint32_t id;
    uint16_t crc; /* of the header and 8 bytes of zeros */
    uint8_t known, state, put_in; /* state times 8 */
};

struct bit_tables {
    uint16_t crc[MESSAGE_BYTES][256]; /* of a byte so many bytes before the end */
    uint8_t stuff[STUFF_STATES][256]; /* next state, and in the upper half the bits put in */
    /*
     * A byte for each state before the group, so that the table can be read before that
     * state is known, and choosing the byte is all that waits for it. In a byte: the next
     * state, times 8 to shift by, and above STUFFED_SHIFT the bits put in, up to 3.
     */
    uint64_t stuff_group[1u << GROUP_BITS];
    struct header_memo headers[HEADERS_REMEMBERED];
};

void bit_tables_init(struct bit_tables *tables);

/*
 * Bits on the wire of a classical frame, exact: with its stuff bits and the three
 * bits of intermission. An FD frame, whose second bit rate is not in the
 * recording, is counted at its size without stuffing; error frames count 0,
 * since the recorder does not tell how long they disturbed the bus. The tables remember headers.
 */
unsigned frame_bits(struct bit_tables *tables, const struct dbr_frame *frame);

/* The CRC-15 sequence of a classical frame. */
uint16_t frame_crc15(const struct bit_tables *tables, const struct dbr_frame *frame);

#endif
