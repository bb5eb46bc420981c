/*
 * ratios.h - how the speeds of each two sources compare while both move.
 *
 * For each pair a histogram of the logarithm of the ratio, so that a median is
 * known to a quarter of a percent whatever the length of the recording. Medians
 * do not mind that one source follows a change of speed later than another.
 *
 * A scale may have been right at first: a count that goes up with each comparison
 * that is about one and down with each that is off tells when that ended.
 */
#ifndef DRAWBAR_TRACKING_RATIOS_H
#define DRAWBAR_TRACKING_RATIOS_H

#include <stddef.h>
#include <stdbool.h>
#include <stdint.h>

#include "drawbar/limits.h"

#define RATIO_BINS 1110u /* quarter percents from 1/4 to 4 */

struct ratio {
    uint32_t total;
    int score;         /* those about one less those that are off, between the two proofs */
    bool off;          /* they were off for long enough to prove it */
    int64_t first_ns;  /* the first comparison */
    int64_t since_ns;  /* the same, or the first that was off after the scale was proven right */
    uint32_t bins[RATIO_BINS];
};

struct ratios {
    /* made when two sources first move together; [i][j] with i < j */
    struct ratio *pairs[DBR_SPEED_SOURCES_MAX][DBR_SPEED_SOURCES_MAX];
    bool out_of_memory;
};

/* At `now` source i goes at `a`, source j at `b`, both above zero. */
void ratios_add(struct ratios *r, size_t i, size_t j, double a, double b, int64_t now);

/* Median of speed i over speed j; NAN where they never moved together. */
double ratios_median(const struct ratios *r, size_t i, size_t j);

/* How many comparisons the median rests on. */
uint32_t ratios_count(const struct ratios *r, size_t i, size_t j);

/* Since when the two differ, for two whose median does: the first comparison, or the end of a time
 * in which their scales were the same. -1 where they never moved together. */
int64_t ratios_since(const struct ratios *r, size_t i, size_t j);

void ratios_release(struct ratios *r);

#endif
