/* random.h - small random numbers that are the same everywhere: xorshift64* (Vigna 2016). */
#ifndef SAMPLES_RANDOM_H
#define SAMPLES_RANDOM_H

#include <stdint.h>

struct random {
    uint64_t state;
};

static inline struct random random_seed(uint64_t seed)
{
    return (struct random){seed * UINT64_C(0x9E3779B97F4A7C15) + 1};
}

static inline uint64_t random_bits(struct random *r)
{
    r->state ^= r->state >> 12;
    r->state ^= r->state << 25;
    r->state ^= r->state >> 27;
    return r->state * UINT64_C(2685821657736338717);
}

/* Evenly from low to high. */
static inline double random_between(struct random *r, double low, double high)
{
    return low + (high - low) * ((double)(random_bits(r) >> 11) / 9007199254740992.0);
}

/* Around 0 with the spread of a sum of four even numbers: nearly a bell, never far out. */
static inline double random_bell(struct random *r, double spread)
{
    double sum = 0;

    for (int i = 0; i < 4; i++)
        sum += random_between(r, -1, 1);
    return sum / 2 * spread;
}

#endif
