/*
 * maths.h - the arithmetic of the simulation.
 *
 * The recordings must come out byte for byte the same from every compiler, so
 * nothing here depends on the last bit of a library's sin() or exp(): only +, -,
 * *, / and floor() are used, which IEEE 754 defines exactly. The build switches
 * off fused multiply-add (-ffp-contract=off) for the same reason.
 */
#ifndef FARM_MATHS_H
#define FARM_MATHS_H

#include <stdint.h>

#define FARM_NS_PER_US INT64_C(1000)
#define FARM_NS_PER_MS INT64_C(1000000)
#define FARM_NS_PER_S  INT64_C(1000000000)

/* The physics moves in steps of 1 ms. */
#define FARM_STEP_NS FARM_NS_PER_MS
#define FARM_STEP_S  0.001

#define FARM_PI 3.14159265358979323846

/* Sine of an angle in rad, good to about 1e-10: plenty for a tractor. */
double farm_sine(double angle);
double farm_cosine(double angle);

double farm_clamp(double value, double low, double high);

/* Nearest integer, halves upwards. */
int64_t farm_round(double value);

/* One step of a first-order lag with a time constant in seconds. */
double farm_lag(double value, double target, double time_constant_s);

/* One step towards a target at no more than `rate` units a second. */
double farm_ramp(double value, double target, double rate);

#endif
