/* random.c - see random.h. */
#include "farm/random.h"

#define GOLDEN_STEP UINT64_C(0x9E3779B97F4A7C15) /* 2^64 / golden ratio, odd */

uint64_t farm_random_next(struct farm_random *r)
{
    uint64_t z = r->state += GOLDEN_STEP;

    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return z ^ z >> 31;
}

struct farm_random farm_random_start(uint64_t seed, uint64_t stream)
{
    struct farm_random of_seed = {seed};
    struct farm_random of_stream = {farm_random_next(&of_seed) ^ stream};

    return (struct farm_random){farm_random_next(&of_stream)};
}

double farm_random_unit(struct farm_random *r)
{
    return (double)(farm_random_next(r) >> 11) * 0x1p-53;
}

int64_t farm_random_below(struct farm_random *r, int64_t limit)
{
    return (int64_t)(farm_random_unit(r) * (double)limit);
}

/* The sum of four even numbers is close to a bell, and needs no logarithm. */
double farm_random_noise(struct farm_random *r)
{
    double sum = 0.0;

    for (int i = 0; i < 4; i++)
        sum += farm_random_unit(r);
    return (sum - 2.0) * 1.7320508075688772; /* variance 4/12, so times sqrt(3) */
}
