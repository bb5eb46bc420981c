/*
 * Speed findings: for each code a recording that fires it, a near miss that must
 * stay silent, and one that cannot tell. Limits: the contract's table of findings.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/story.h"

/* Hitch status of the tractor: 65093, in-work in bits 7-8 of byte 2 (SPN 1877). */
static void hitch(struct story *s, bool in_work)
{
    story_beat(s, story_id(3, 65093, 255, 240), 0.1, 1, 90,
               in_work ? "007FFFFFFFFFFFFF" : "FA3FFFFFFFFFFFFF");
}

static void work_state(struct story *s, bool on)
{
    story_beat(s, story_id(3, 51968, 247, 128), 1.0, 1, 90,
               on ? "03008D0001000000" : "03008D0000000000");
}

Test(diagnosis_speed, a_sound_drive_is_clean)
{
    struct outcome *o = story_tell(story_field(1.0));

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    for (size_t i = 0; i < o->history->source_count; i++)
        cr_assert_eq(o->history->sources[i].state, DBR_SPEED_STATE_VALID);
    outcome_free(o);
}

Test(diagnosis_speed, a_dead_axle_sensor_is_stuck_at_zero_from_the_first_motion)
{
    struct outcome *o = story_tell(story_field(0.0));
    const struct dbr_finding *f = outcome_finding(o, "speed-stuck-zero", 128);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_FAULT);
    /* The drive passes 0.5 m/s a second after it begins, at 6 s. */
    cr_assert(f->start_ns > 5500000000 && f->start_ns < 6800000000, "%lld",
              (long long)f->start_ns);
    cr_assert(f->open);
    cr_assert_eq(f->count, 1);
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1);
    cr_assert_eq(&o->diagnosis->findings[o->diagnosis->verdict.root_causes[0]], f);
    cr_assert_not(outcome_has(o, "speed-stuck-zero", 240));
    outcome_free(o);
}

Test(diagnosis_speed, a_raised_implement_may_hold_its_wheel_still)
{
    struct story *s = story_field(0.0);
    hitch(s, false);
    work_state(s, false);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_speed, a_lowered_implement_may_not)
{
    struct story *s = story_field(0.0);
    hitch(s, true);
    work_state(s, false);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "speed-stuck-zero", 128), "%s", outcome_codes(o));
    outcome_free(o);
}

static double drive_four_seconds(double t)
{
    return t > 10 && t < 14 ? 2.0 : 0;
}

Test(diagnosis_speed, four_seconds_of_motion_convict_nobody)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_ground(s, 240, drive_four_seconds, 1.0, 0, 30);
    story_gnss(s, 28, drive_four_seconds, 1.0, 0, 30);
    story_axle(s, 128, drive_stand, 1.0, 0, 30);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "speed-stuck-zero", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_speed, standing_still_is_no_fault)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_wheel(s, 240, drive_stand, 1.0, 0, 60);
    story_ground(s, 240, drive_stand, 1.0, 0, 60);
    story_axle(s, 128, drive_stand, 1.0, 0, 60);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

static double drive_frozen(double t)
{
    return t < 40 ? drive_field(t) : drive_field(40);
}

Test(diagnosis_speed, a_frozen_source_is_found_when_the_machine_stops)
{
    struct story *s = story_field(-1);
    story_axle(s, 128, drive_frozen, 1.0, 1, 100);
    story_background(s, 90, 100);
    story_wheel(s, 240, drive_stand, 1.0, 90, 100);
    story_ground(s, 240, drive_stand, 1.0, 90, 100);
    story_gnss(s, 28, drive_stand, 1.0, 90, 100);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-frozen", 128);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert(f->start_ns > 39500000000 && f->start_ns < 40700000000);
    /* Those that tell the truth, zero, are not convicted by the one that does not. */
    cr_assert_not(outcome_has(o, "speed-stuck-zero", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* A gearbox holds one speed for 20 s at a time: ramps of 3 s between them. */
static double drive_in_steps(double t)
{
    static const double steps[] = {0, 2.6, 1.4, 2.8, 1.2};
    size_t step = (size_t)(t / 20);
    double since = t - 20 * (double)step;

    if (step + 1 >= sizeof steps / sizeof steps[0])
        return steps[4];
    return since < 17 ? steps[step] : steps[step] + (steps[step + 1] - steps[step]) * (since - 17) / 3;
}

static double drive_in_steps_later(double t)
{
    return t > 1 ? drive_in_steps(t - 1) * (1 + 0.01 * sin(t)) : 0;
}

/* Each held speed begins and ends while the satellites still tell the one before. */
Test(diagnosis_speed, a_held_speed_is_not_frozen_for_a_reference_that_lags)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_wheel(s, 240, drive_in_steps, 1.0, 0, 90);
    story_gnss(s, 28, drive_in_steps_later, 1.0, 0, 90);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "speed-frozen", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

static double drive_noise(double t)
{
    return t > 30 && t < 36 && fmod(t, 0.4) < 0.2 ? drive_field(t) + 5 : drive_field(t);
}

Test(diagnosis_speed, jumps_of_two_metres_a_second_are_erratic)
{
    struct story *s = story_field(-1);
    story_axle(s, 128, drive_noise, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "speed-erratic", 128), "%s", outcome_codes(o));
    cr_assert_not(outcome_has(o, "speed-erratic", 240));
    outcome_free(o);
}

static double drive_one_spike(double t)
{
    return t > 30 && t < 30.1 ? drive_field(t) + 5 : drive_field(t);
}

Test(diagnosis_speed, a_single_spike_is_not)
{
    struct story *s = story_field(-1);
    story_axle(s, 128, drive_one_spike, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "speed-erratic", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_speed, a_message_that_stops_is_lost_from_its_last_one)
{
    struct story *s = story_field(-1);
    story_axle(s, 128, drive_field, 1.0, 1, 45);
    work_state(s, true);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-lost", 128);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert(f->start_ns > 44000000000 && f->start_ns < 45500000000);
    cr_assert(f->open);
    cr_assert_eq(f->pgn, 51968);
    outcome_free(o);
}

Test(diagnosis_speed, a_pause_of_the_whole_bus_loses_no_source)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_background(s, 35, 60);
    story_ground(s, 240, drive_stand, 1.0, 0, 30);
    story_ground(s, 240, drive_stand, 1.0, 35, 60);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "speed-lost", -1), "%s", outcome_codes(o));
    cr_assert_not(outcome_has(o, "ecu-silent", -1), "%s", outcome_codes(o));
    cr_assert(outcome_has(o, "recording-gap", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* 65097: raw FFFF not available, FEFF error indicator (J1939-71 by width). */
static void ground_raw(struct story *s, double from, double to, const char *hex)
{
    story_beat(s, story_id(3, 65097, 255, 240), 0.1, from, to, hex);
}

Test(diagnosis_speed, not_available_after_it_was_valid_is_a_fault)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_ground(s, 240, drive_field, 1.0, 0, 30);
    ground_raw(s, 30, 60, "FFFFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-not-available", 240);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_FAULT);
    cr_assert(f->start_ns > 29900000000 && f->start_ns < 30300000000);
    outcome_free(o);
}

Test(diagnosis_speed, never_available_is_a_note)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    ground_raw(s, 0, 60, "FFFFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-not-available", 240);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_NOTE);
    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_speed, a_second_without_a_value_is_too_short)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_ground(s, 240, drive_field, 1.0, 0, 30);
    ground_raw(s, 30, 31, "FFFFFFFFFFFFFFFF");
    story_ground(s, 240, drive_field, 1.0, 31, 60);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "speed-not-available", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_speed, the_error_indicator_is_an_error_after_half_a_second)
{
    static const struct {
        double seconds;
        bool expected;
    } rows[] = {{0.3, false}, {1.0, true}};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_ground(s, 240, drive_field, 1.0, 0, 30);
        ground_raw(s, 30, 30 + rows[i].seconds, "00FEFFFFFFFFFFFF");
        story_ground(s, 240, drive_field, 1.0, 30 + rows[i].seconds, 60);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "speed-error", 240), rows[i].expected, "%s",
                     outcome_codes(o));
        outcome_free(o);
    }
}
