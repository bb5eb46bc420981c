/* ratios.c - see ratios.h. */
#include "tracking/ratios.h"

#include <math.h>
#include <stdlib.h>

#define BIN_WIDTH 0.0025 /* of the natural logarithm: a quarter of a percent */

/* Half of the least that is a finding (contract, speed-disagrees: 5 %). */
#define OFF 0.025

/* So many comparisons more of one kind than of the other prove it: 10 s, of 10 a second. */
#define PROOF 100

static void follow(struct ratio *pair, double logarithm, int64_t now)
{
    bool off = fabs(logarithm) > OFF;

    if (pair->total == 0)
        pair->first_ns = pair->since_ns = now;
    if (pair->off)
        return;
    if (off && pair->score == PROOF)
        pair->since_ns = now;
    pair->score += off ? -1 : pair->score < PROOF;
    pair->off = pair->score == -PROOF;
}

void ratios_add(struct ratios *r, size_t i, size_t j, double a, double b, int64_t now)
{
    struct ratio **pair = &r->pairs[i < j ? i : j][i < j ? j : i];

    if (!*pair)
        *pair = calloc(1, sizeof **pair);
    r->out_of_memory = r->out_of_memory || !*pair;
    if (!*pair || (*pair)->total == UINT32_MAX)
        return;
    double logarithm = log(i < j ? a / b : b / a);
    double offset = floor(logarithm / BIN_WIDTH) + RATIO_BINS / 2;
    follow(*pair, logarithm, now);
    size_t bin = offset < 0 ? 0 : offset >= RATIO_BINS ? RATIO_BINS - 1 : (size_t)offset;
    (*pair)->bins[bin]++;
    (*pair)->total++;
}

static const struct ratio *pair_of(const struct ratios *r, size_t i, size_t j)
{
    return r->pairs[i < j ? i : j][i < j ? j : i];
}

uint32_t ratios_count(const struct ratios *r, size_t i, size_t j)
{
    const struct ratio *pair = pair_of(r, i, j);
    return pair ? pair->total : 0;
}

double ratios_median(const struct ratios *r, size_t i, size_t j)
{
    const struct ratio *pair = pair_of(r, i, j);
    uint64_t below = 0;

    for (size_t bin = 0; pair && bin < RATIO_BINS; bin++) {
        below += pair->bins[bin];
        if (below * 2 < pair->total)
            continue;
        double median = exp(((double)bin - RATIO_BINS / 2 + 0.5) * BIN_WIDTH);
        return i < j ? median : 1 / median;
    }
    return (double)NAN;
}

int64_t ratios_since(const struct ratios *r, size_t i, size_t j)
{
    const struct ratio *pair = pair_of(r, i, j);

    if (!pair)
        return -1;
    return pair->off ? pair->since_ns : pair->first_ns;
}

void ratios_release(struct ratios *r)
{
    for (size_t i = 0; i < DBR_SPEED_SOURCES_MAX; i++)
        for (size_t j = i + 1; j < DBR_SPEED_SOURCES_MAX; j++)
            free(r->pairs[i][j]);
}
