/* print_value.c - see print_value.h. */
#include "reporting/print_value.h"

#include <float.h>
#include <math.h>

#define DECIMALS_MAX 17u      /* a double has 15 to 17 digits */
#define SCALE_MAX 1e9         /* leaves a 32-bit raw number room in 64 bits */
#define OFFSET_MAX 9e15       /* whole numbers up to 2^53 are exact in a double */
#define USEFUL_MAX 9u         /* decimals that somebody reads */

static bool is_whole(double number, double most)
{
    return fabs(number) <= most &&
           fabs(number - round(number)) <= 4 * DBL_EPSILON * fmax(1.0, fabs(number));
}

struct print_scale print_scale_make(double scale, double offset)
{
    struct print_scale s = {.exact = false};
    double power = 1.0;

    for (s.useful = 0; s.useful < USEFUL_MAX && fabs(scale) * power < 0.999; s.useful++)
        power *= 10.0;
    power = 1.0;
    for (unsigned d = 0; d <= DECIMALS_MAX && !s.exact; d++, power *= 10.0) {
        if (!is_whole(scale * power, SCALE_MAX) || fabs(scale * power) < 0.5 ||
            !is_whole(offset * power, OFFSET_MAX))
            continue;
        s.exact = true;
        s.decimals = d;
        s.scale = (int64_t)llround(scale * power);
        s.offset = (int64_t)llround(offset * power);
    }
    return s;
}

static bool exact_value(const struct print_scale *s, int64_t raw, int64_t *value)
{
    return s->exact && !__builtin_mul_overflow(raw, s->scale, value) &&
           !__builtin_add_overflow(*value, s->offset, value);
}

/* `number` is finite: see print_lines.c. */
static void put_double(struct print_buffer *b, double number)
{
    char text[32];

    snprintf(text, sizeof text, "%.15g", number);
    put_text(b, text);
}

void put_exact(struct print_buffer *b, const struct print_scale *s, int64_t raw, double number)
{
    int64_t value;

    if (exact_value(s, raw, &value))
        put_decimal(b, value, s->decimals, true);
    else
        put_double(b, number);
}

/* Divides, halves away from zero. */
static int64_t shorten(int64_t value, unsigned digits)
{
    int64_t divisor = 1;

    while (digits-- > 0)
        divisor *= 10;
    int64_t half = divisor / 2;
    int64_t rest = value % divisor;
    return value / divisor + (rest >= half && divisor > 1) - (rest <= -half && divisor > 1);
}

void put_rounded(struct print_buffer *b, const struct print_scale *s, int64_t raw, double number)
{
    int64_t value;

    if (!exact_value(s, raw, &value))
        put_double(b, number);
    else if (s->decimals > s->useful)
        put_decimal(b, shorten(value, s->decimals - s->useful), s->useful, false);
    else
        put_decimal(b, value, s->decimals, false);
}
