/*
 * print_value.h - numbers without the noise of binary fractions.
 *
 * Nearly all signals scale by a decimal (0.001) or by a power of two (1/256): the value
 * of a raw number is then a whole number of some power of ten, and is printed exactly.
 */
#ifndef DRAWBAR_REPORTING_PRINT_VALUE_H
#define DRAWBAR_REPORTING_PRINT_VALUE_H

#include "reporting/print_buffer.h"

struct print_scale {
    bool exact;         /* value = (raw * scale + offset) / 10^decimals in whole numbers */
    unsigned decimals;
    int64_t scale, offset;
    unsigned useful;    /* decimals that one step of the raw number is worth, for people */
};

struct print_scale print_scale_make(double scale, double offset);

/* Puts the value of `raw`, which is `number` as well; exactly where the scale is. */
void put_exact(struct print_buffer *b, const struct print_scale *s, int64_t raw, double number);

/* The same rounded to useful decimals, always as many. */
void put_rounded(struct print_buffer *b, const struct print_scale *s, int64_t raw, double number);

#endif
