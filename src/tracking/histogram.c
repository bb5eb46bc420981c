/* histogram.c - see histogram.h. */
#include "tracking/histogram.h"

#include <math.h>

#define FIRST_OCTAVE 7u /* log2 of 128 us: no two frames of a 250 kbit/s bus are closer twice over */
#define MANTISSA_BITS 3u

size_t histogram_bin(uint64_t us)
{
    if (us < 1u << FIRST_OCTAVE)
        return 0;
    unsigned octave = 63u - (unsigned)__builtin_clzll(us);
    size_t within = us >> (octave - MANTISSA_BITS) & (HISTOGRAM_PER_OCTAVE - 1u);
    size_t bin = (octave - FIRST_OCTAVE) * HISTOGRAM_PER_OCTAVE + within;
    return bin < HISTOGRAM_BINS ? bin : HISTOGRAM_BINS - 1;
}

double histogram_middle(size_t bin)
{
    double octave = ldexp(1.0, (int)(FIRST_OCTAVE + bin / HISTOGRAM_PER_OCTAVE));
    return octave * (1.0 + ((double)(bin % HISTOGRAM_PER_OCTAVE) + 0.5) / HISTOGRAM_PER_OCTAVE);
}

void histogram_add(struct histogram *h, uint64_t us)
{
    if (h->total == UINT32_MAX)
        return; /* four thousand million intervals: the median stands */
    h->total++;
    h->bins[histogram_bin(us)]++;
}

double histogram_median(const struct histogram *h)
{
    uint64_t below = 0;

    for (size_t i = 0; i < HISTOGRAM_BINS; i++) {
        below += h->bins[i];
        if (below * 2 >= h->total && h->total > 0)
            return histogram_middle(i);
    }
    return 0;
}

uint64_t histogram_between(const struct histogram *h, double low_us, double high_us)
{
    uint64_t sum = 0;

    for (size_t i = 0; i < HISTOGRAM_BINS; i++)
        if (histogram_middle(i) >= low_us && histogram_middle(i) < high_us)
            sum += h->bins[i];
    return sum;
}
