/*
 * arithmetic.h - the sums of the trade: rates, meters, slip, calibration.
 *
 * SI units throughout: kg, m, s, kg/m2. 1 kg/ha is 1e-4 kg/m2. The tests work
 * published examples of extension services and handbooks.
 */
#ifndef DRAWBAR_DIAGNOSIS_ARITHMETIC_H
#define DRAWBAR_DIAGNOSIS_ARITHMETIC_H

/* Mass flow that a rate needs: rate x speed x width. */
double needed_flow_kg_s(double rate_kg_m2, double speed_mps, double width_m);

/* The rate that a mass flow gives; NAN where nothing is covered. */
double rate_of_flow_kg_m2(double flow_kg_s, double speed_mps, double width_m);

/* Revolutions a second of a meter that puts out so much mass each. */
double needed_meter_rps(double flow_kg_s, double mass_per_revolution_kg);

/* Slip of a driven wheel, 0 to 1: (wheel - ground) / wheel. */
double wheel_slip(double wheel_mps, double ground_mps);

/*
 * A source that reads `ratio` times the truth. Its calibration value must be
 * multiplied by this: where it states pulses for a distance by the ratio, where it
 * states distance for a pulse by its inverse.
 */
double pulses_per_distance_factor(double ratio);
double distance_per_pulse_factor(double ratio);

#endif
