/*
 * The sums of the trade against published worked examples. Each row names its
 * source; conversions are exact (acre 4046.8564224 m2, foot 0.3048 m, mile
 * 1609.344 m, pound 0.45359237 kg).
 */
#include <criterion/criterion.h>
#include <math.h>

#include "diagnosis/arithmetic.h"

#define ACRE_M2 4046.8564224
#define FOOT_M 0.3048
#define MPH 0.44704
#define KMH (1 / 3.6)
#define KG_HA 1e-4

static void assert_near(double found, double expected, double tolerance)
{
    cr_assert_float_eq(found, expected, fabs(expected) * tolerance, "%g, published %g", found,
                       expected);
}

Test(reference_arithmetic, spreader_output_of_an_operator_manual)
{
    /* Nominal output table of a fertiliser spreader's operator manual: 8 km/h, 18 m, 300 kg/ha:
     * 72 kg/min. */
    assert_near(needed_flow_kg_s(300 * KG_HA, 8 * KMH, 18) * 60, 72, 0.001);
    assert_near(rate_of_flow_kg_m2(72.0 / 60, 8 * KMH, 18) / KG_HA, 300, 0.001);
}

Test(reference_arithmetic, ten_percent_faster_at_constant_flow)
{
    /* The same manual states 10 % under-application; exact is 1 - 1/1.1. */
    double slow = rate_of_flow_kg_m2(1.2, 8 * KMH, 18);
    double fast = rate_of_flow_kg_m2(1.2, 8.8 * KMH, 18);
    assert_near(1 - fast / slow, 0.0909, 0.001);
}

Test(reference_arithmetic, drill_catch_tests)
{
    /* Soil Health Labs, calibrating a grain drill: 8 ft circumference, 20 turns, row 7.5 in,
     * 25 lb/ac: 0.05739 lb a row. */
    double area_m2 = 8 * FOOT_M * 20 * 0.625 * FOOT_M;
    double rate = 25 * 0.45359237 / ACRE_M2;
    assert_near(rate * area_m2 / 0.45359237, 0.05739, 0.005);

    /* "Metric problems", agricultural engineering text: 12 of 25 units at 0.2 m, wheel 0.8 m, 50
     * turns, 270.9 g caught: 8.98 kg/ha (the page cuts to 8.9). */
    double pi = acos(-1);
    double course_m = pi * 0.8 * 50, seconds = 60;
    assert_near(rate_of_flow_kg_m2(0.2709 / seconds, course_m / seconds, 12 * 0.2) / KG_HA, 8.98,
                0.01);
}

/* Area a second: a flow of 1 kg/s spread at a rate covers 1/rate. */
static double area_m2_s(double speed_mps, double width_m)
{
    return 1 / rate_of_flow_kg_m2(1, speed_mps, width_m);
}

Test(reference_arithmetic, field_capacity)
{
    static const struct {
        double feet, mph, efficiency, acres_h;
    } iowa[] = {{40, 6, 0.70, 20.4}, /* Iowa State University Extension PM 696: spreaders */
                {50, 6, 0.70, 25.5},
                {30, 6, 0.60, 13.1},
                {10, 5, 0.63, 3.8},
                {20, 6, 0.63, 9.2}};

    for (size_t i = 0; i < sizeof iowa / sizeof iowa[0]; i++) {
        double m2_s = area_m2_s(iowa[i].mph * MPH, iowa[i].feet * FOOT_M);
        assert_near(m2_s * 3600 * iowa[i].efficiency / ACRE_M2, iowa[i].acres_h, 0.01);
    }
    /* calculatorshub.net, effective field capacity: 3 m, 6 km/h, 0.8: 1.44 ha/h */
    assert_near(area_m2_s(6 * KMH, 3) * 3600 * 0.8 / 1e4, 1.44, 0.001);
}

Test(reference_arithmetic, slip_chart_of_tractor_manuals)
{
    /* 10 turns loaded over a course; unloaded turns over the same course (tractor manuals). */
    static const struct {
        double unloaded, percent;
    } rows[] = {{9.5, 5}, {9, 10}, {8.5, 15}, {8, 20}, {7.5, 25}, {7, 30}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(wheel_slip(10, rows[i].unloaded) * 100, rows[i].percent, 0.001);
    /* 65096 raw 3000, 65097 raw 2700: 10 % (worked by hand) */
    assert_near(wheel_slip(3.0, 2.7) * 100, 10, 0.001);
}

Test(reference_arithmetic, calibration_by_a_measured_course)
{
    /* Worked by hand: 121.92 m (400 ft) read as 124.358 m: 2 % high, factor 0.9804. */
    double ratio = 124.358 / 121.92;
    assert_near(distance_per_pulse_factor(ratio), 0.9804, 0.0001);
    assert_near(pulses_per_distance_factor(ratio), 1.02, 0.0001);
    /* either way the corrected source reads the truth: read x old / new pulses per distance */
    assert_near(124.358 / pulses_per_distance_factor(ratio), 121.92, 1e-6);
    assert_near(124.358 * distance_per_pulse_factor(ratio), 121.92, 1e-6);
}

Test(reference_arithmetic, meters)
{
    /* Worked by hand: 180 kg/ha, 3 m/s, 6 m: 19.44 kg/min (the identity of DDI 7 and 42 in ISO
     * 11783-11); at 0.31 kg a turn 1.045 turns a second. */
    double flow = needed_flow_kg_s(180 * KG_HA, 3, 6);
    assert_near(flow * 60, 19.44, 0.001);
    assert_near(needed_meter_rps(flow, 0.31), 1.0452, 0.001);
}

Test(reference_arithmetic, what_cannot_be_told_is_no_number)
{
    cr_assert(isnan(rate_of_flow_kg_m2(1, 0, 18)));
    cr_assert(isnan(wheel_slip(0, 0)));
    cr_assert(isnan(needed_meter_rps(1, 0)));
}
