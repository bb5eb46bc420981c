/* plain_bits.h - see plain_bits.c. */
#ifndef TESTS_SUPPORT_PLAIN_BITS_H
#define TESTS_SUPPORT_PLAIN_BITS_H

#include "drawbar/frame.h"

unsigned plain_bits(const struct dbr_frame *frame);
uint16_t plain_crc15(const struct dbr_frame *frame);

#endif
