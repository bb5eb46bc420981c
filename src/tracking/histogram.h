/*
 * histogram.h - medians in fixed memory: counts of values in bins of equal ratio.
 *
 * Eight bins an octave: a bin is at most one eighth wide, so that a quarter of
 * the median can be told apart and a median is known to some 6 %.
 */
#ifndef DRAWBAR_TRACKING_HISTOGRAM_H
#define DRAWBAR_TRACKING_HISTOGRAM_H

#include <stddef.h>
#include <stdint.h>

#define HISTOGRAM_OCTAVES 21u /* 1 us units: 0.1 ms .. 200 s when the first octave is 128 us */
#define HISTOGRAM_PER_OCTAVE 8u
#define HISTOGRAM_BINS (HISTOGRAM_OCTAVES * HISTOGRAM_PER_OCTAVE)

struct histogram {
    uint32_t total;
    uint32_t bins[HISTOGRAM_BINS];
};

/* Counts an interval in microseconds; what is below or above the range goes to the end bins. */
void histogram_add(struct histogram *h, uint64_t us);

/* The middle of the bin that holds the median, in microseconds; 0 where nothing was counted. */
double histogram_median(const struct histogram *h);

/* The bin of an interval, and the middle of a bin in microseconds. */
size_t histogram_bin(uint64_t us);
double histogram_middle(size_t bin);

/* How many values lie in bins whose middle is in [low, high). */
uint64_t histogram_between(const struct histogram *h, double low_us, double high_us);

#endif
