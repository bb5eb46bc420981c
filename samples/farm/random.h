/*
 * random.h - repeatable chance.
 *
 * The generator is splitmix64 (Steele, Lea, Flood: Fast splittable pseudorandom
 * number generators, 2014): a counter that goes up by a fixed odd step, and a
 * mixing of its bits. Everything that draws numbers has a stream of its own,
 * numbered by whoever owns it, so that a new sensor or ECU does not change what
 * the others draw.
 */
#ifndef FARM_RANDOM_H
#define FARM_RANDOM_H

#include <stdint.h>

struct farm_random {
    uint64_t state;
};

/* The streams. ECUs take FARM_STREAM_ECU and the numbers after it. */
enum farm_stream { FARM_STREAM_SENSORS, FARM_STREAM_WORLD, FARM_STREAM_WEIGHING, FARM_STREAM_ECU };

struct farm_random farm_random_start(uint64_t seed, uint64_t stream);

uint64_t farm_random_next(struct farm_random *r);

/* 0 <= number < 1. */
double farm_random_unit(struct farm_random *r);

/* 0 <= number < limit; limit > 0. */
int64_t farm_random_below(struct farm_random *r, int64_t limit);

/* Noise with mean 0 and standard deviation 1, never beyond 3.5. */
double farm_random_noise(struct farm_random *r);

#endif
