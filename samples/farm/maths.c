/* maths.c - see maths.h. */
#include "farm/maths.h"

#include <math.h>

double farm_sine(double angle)
{
    double turns = angle / (2.0 * FARM_PI);
    double x = (turns - floor(turns + 0.5)) * 2.0 * FARM_PI; /* -pi .. pi */

    if (x > FARM_PI / 2.0)
        x = FARM_PI - x;
    else if (x < -FARM_PI / 2.0)
        x = -FARM_PI - x;

    /* Taylor series up to x^13 in Horner's form. */
    double s = x * x;
    double sum = 1.0 - s / (12.0 * 13.0);
    sum = 1.0 - s / (10.0 * 11.0) * sum;
    sum = 1.0 - s / (8.0 * 9.0) * sum;
    sum = 1.0 - s / (6.0 * 7.0) * sum;
    sum = 1.0 - s / (4.0 * 5.0) * sum;
    sum = 1.0 - s / (2.0 * 3.0) * sum;
    return x * sum;
}

double farm_cosine(double angle)
{
    return farm_sine(angle + FARM_PI / 2.0);
}

double farm_clamp(double value, double low, double high)
{
    return value < low ? low : value > high ? high : value;
}

int64_t farm_round(double value)
{
    return (int64_t)floor(value + 0.5);
}

double farm_lag(double value, double target, double time_constant_s)
{
    return value + (target - value) * (FARM_STEP_S / time_constant_s);
}

double farm_ramp(double value, double target, double rate)
{
    double step = rate * FARM_STEP_S;

    return value + farm_clamp(target - value, -step, step);
}
