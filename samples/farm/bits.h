/*
 * bits.h - how long a frame occupies the bus.
 *
 * Written independently of the program that reads the recordings, so that the
 * two can be held against each other.
 */
#ifndef FARM_BITS_H
#define FARM_BITS_H

#include "farm/frame.h"

#define FARM_BIT_NS            INT64_C(4000) /* 250 kbit/s, ISO 11783-2 */
#define FARM_INTERMISSION_BITS 3             /* ISO 11898-1, between two frames */

/* Bits of an extended data frame from start to end of frame, stuff bits included. */
int farm_frame_bits(const struct farm_frame *frame);

#endif
