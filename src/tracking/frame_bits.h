/*
 * frame_bits.h - how long a frame occupies the bus, in bit times.
 *
 * Source: ISO 11898-1 (frame format, bit stuffing, CRC-15), CAN 2.0B. Every frame
 * of a recording is measured, so CRC and stuffing go by tables, a byte at a time;
 * the tests hold them against the plain way, bit by bit.
 */
#ifndef DRAWBAR_TRACKING_FRAME_BITS_H
#define DRAWBAR_TRACKING_FRAME_BITS_H

#include "drawbar/frame.h"

#define STUFF_STATES 8u /* last bit, and how often it stands there: 1 to 4 times */

struct bit_tables {
    uint16_t crc[256];
    uint8_t stuff[STUFF_STATES][256]; /* next state, and in the upper half the bits put in */
};

void bit_tables_init(struct bit_tables *tables);

/*
 * Bits on the wire of a classical frame, exact: with its stuff bits and the three
 * bits of intermission. An FD frame, whose second bit rate is not in the
 * recording, is counted at its size without stuffing; error frames count 0,
 * since the recorder does not tell how long they disturbed the bus.
 */
unsigned frame_bits(const struct bit_tables *tables, const struct dbr_frame *frame);

/* The CRC-15 sequence of a classical frame. */
uint16_t frame_crc15(const struct bit_tables *tables, const struct dbr_frame *frame);

#endif
