/* arithmetic.c - see arithmetic.h. */
#include "diagnosis/arithmetic.h"

#include <math.h>

double needed_flow_kg_s(double rate_kg_m2, double speed_mps, double width_m)
{
    return rate_kg_m2 * speed_mps * width_m;
}

double rate_of_flow_kg_m2(double flow_kg_s, double speed_mps, double width_m)
{
    double area_m2_s = speed_mps * width_m;
    return area_m2_s > 0 ? flow_kg_s / area_m2_s : (double)NAN;
}

double needed_meter_rps(double flow_kg_s, double mass_per_revolution_kg)
{
    return mass_per_revolution_kg > 0 ? flow_kg_s / mass_per_revolution_kg : (double)NAN;
}

double wheel_slip(double wheel_mps, double ground_mps)
{
    return wheel_mps > 0 ? (wheel_mps - ground_mps) / wheel_mps : (double)NAN;
}

double pulses_per_distance_factor(double ratio)
{
    return ratio;
}

double distance_per_pulse_factor(double ratio)
{
    return ratio > 0 ? 1 / ratio : (double)NAN;
}
