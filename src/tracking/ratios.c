/* ratios.c - see ratios.h. */
#include "tracking/ratios.h"

#include <math.h>
#include <stdlib.h>

#define BIN_WIDTH 0.0025 /* of the natural logarithm: a quarter of a percent */

void ratios_add(struct ratios *r, size_t i, size_t j, double a, double b)
{
    struct ratio **pair = &r->pairs[i < j ? i : j][i < j ? j : i];

    if (!*pair)
        *pair = calloc(1, sizeof **pair);
    r->out_of_memory = r->out_of_memory || !*pair;
    if (!*pair || (*pair)->total == UINT32_MAX)
        return;
    double offset = floor(log(i < j ? a / b : b / a) / BIN_WIDTH) + RATIO_BINS / 2;
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

void ratios_release(struct ratios *r)
{
    for (size_t i = 0; i < DBR_SPEED_SOURCES_MAX; i++)
        for (size_t j = i + 1; j < DBR_SPEED_SOURCES_MAX; j++)
            free(r->pairs[i][j]);
}
