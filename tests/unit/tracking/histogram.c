/* Medians of intervals in bins of equal ratio. */
#include <criterion/criterion.h>

#include "tracking/histogram.h"

Test(tracking_histogram, the_median_is_known_to_the_width_of_a_bin)
{
    static const uint64_t periods_us[] = {250, 1000, 10000, 100000, 250000, 1000000, 5000000};

    for (size_t i = 0; i < sizeof periods_us / sizeof periods_us[0]; i++) {
        struct histogram h = {0};
        for (uint64_t k = 0; k < 99; k++)
            histogram_add(&h, periods_us[i] + (k % 3) * periods_us[i] / 1000);
        double median = histogram_median(&h), period = (double)periods_us[i];
        cr_assert(median > 0.93 * period && median < 1.07 * period, "%g for %g", median, period);
    }
}

Test(tracking_histogram, values_beyond_the_range_are_counted_at_its_ends)
{
    struct histogram h = {0};

    histogram_add(&h, 0);
    histogram_add(&h, UINT64_MAX);
    cr_assert_eq(h.total, 2);
    cr_assert_eq(h.bins[0], 1);
    cr_assert_eq(h.bins[HISTOGRAM_BINS - 1], 1);
    cr_assert_eq(histogram_between(&h, 0, 1e12), 2);
}

Test(tracking_histogram, nothing_counted_has_no_median)
{
    struct histogram h = {0};
    cr_assert_float_eq(histogram_median(&h), 0, 1e-9);
}
