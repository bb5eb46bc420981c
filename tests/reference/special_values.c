/*
 * Which raw values are measurements.
 *
 * Source: the table of SAE J1939-71 5.1.4, which ISO 11783-7 repeats: ranges of
 * 8, 16 and 32 bit parameters (24 and 64 bits by the same rule, from memory).
 */
#include <criterion/criterion.h>

#include "drawbar/definitions.h"

static enum dbr_value_status status_of(unsigned bits, uint64_t raw)
{
    struct dbr_signal signal = {.bits = (uint8_t)bits, .scale = 1, .special = DBR_SPECIAL_J1939};
    uint8_t data[8];

    for (unsigned i = 0; i < 8; i++)
        data[i] = (uint8_t)(raw >> 8 * i);
    return dbr_signal_decode(&signal, data, sizeof data).status;
}

Test(reference_special_values, ranges_by_the_most_significant_byte)
{
    static const struct {
        uint8_t first, last;
        enum dbr_value_status status;
    } ranges[] = {
        {0x00, 0xFA, DBR_VALUE_VALID},        {0xFB, 0xFB, DBR_VALUE_OUT_OF_RANGE},
        {0xFC, 0xFD, DBR_VALUE_OUT_OF_RANGE}, {0xFE, 0xFE, DBR_VALUE_ERROR},
        {0xFF, 0xFF, DBR_VALUE_NOT_AVAILABLE},
    };
    static const unsigned widths[] = {8, 16, 24, 32, 64};

    for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++)
        for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
            unsigned below = widths[w] - 8;
            uint64_t low_ones = below ? UINT64_MAX >> (64 - below) : 0;
            uint64_t first = (uint64_t)ranges[i].first << below;
            uint64_t last = (uint64_t)ranges[i].last << below | low_ones;
            cr_expect_eq(status_of(widths[w], first), ranges[i].status, "%u bits, %lX", widths[w],
                         first);
            cr_expect_eq(status_of(widths[w], last), ranges[i].status, "%u bits, %lX", widths[w],
                         last);
        }
}

Test(reference_special_values, printed_upper_limits)
{
    cr_expect_eq(status_of(16, 64255), DBR_VALUE_VALID);
    cr_expect_eq(status_of(16, 64256), DBR_VALUE_OUT_OF_RANGE);
    cr_expect_eq(status_of(32, 4211081215), DBR_VALUE_VALID);
    cr_expect_eq(status_of(32, 4211081216), DBR_VALUE_OUT_OF_RANGE);
    cr_expect_eq(status_of(16, 0xFE12), DBR_VALUE_ERROR);
    cr_expect_eq(status_of(16, 0xFF34), DBR_VALUE_NOT_AVAILABLE);
}

/* SAE J1939-71 5.1.4, discrete parameters: 00 and 01 states, 10 error, 11 not available. */
Test(reference_special_values, discrete_parameters)
{
    cr_expect_eq(status_of(2, 0), DBR_VALUE_VALID);
    cr_expect_eq(status_of(2, 1), DBR_VALUE_VALID);
    cr_expect_eq(status_of(2, 2), DBR_VALUE_ERROR);
    cr_expect_eq(status_of(2, 3), DBR_VALUE_NOT_AVAILABLE);
}
