/*
 * frame_bits.h - how long a frame occupies the bus, in bit times.
 *
 * Source: ISO 11898-1 (frame format, bit stuffing, CRC-15), CAN 2.0B.
 */
#ifndef DRAWBAR_TRACKING_FRAME_BITS_H
#define DRAWBAR_TRACKING_FRAME_BITS_H

#include "drawbar/frame.h"

/*
 * Bits on the wire of a classical frame, exact: with its stuff bits and the three
 * bits of intermission. An FD frame, whose second bit rate is not in the
 * recording, is counted at its size without stuffing; error frames count 0,
 * since the recorder does not tell how long they disturbed the bus.
 */
unsigned frame_bits(const struct dbr_frame *frame);

/* The CRC-15 sequence of a classical frame. */
uint16_t frame_crc15(const struct dbr_frame *frame);

#endif
