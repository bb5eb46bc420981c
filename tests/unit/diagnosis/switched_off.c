/*
 * switched_off.c - what is off on purpose lacks neither rate nor coverage: one bin of two, one
 * implement of two, a trailed implement at the headland.
 *
 * Process data by ISO 11783-10 (value command) and ISO 11783-11: DDI 6 set-point and 7 actual rate
 * in mg/m2, DDI 141 actual work state, DDI 397 speed in mm/s; hitch (65093) and PTO (65091) by
 * ISO 11783-7.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

#define RATE 18000u

/* A value that an implement tells once a second. */
static void tells(struct story *s, uint8_t address, unsigned element, unsigned ddi, unsigned value,
                  double from, double to)
{
    story_beat(s, story_id(3, 51968, 247, address), 1.0, from, to,
               story_value(element, ddi, value));
}

static void asks(struct story *s, uint8_t address, unsigned element, unsigned rate)
{
    story_frame(s, 7, story_id(3, 51968, address, 247), story_value(element, 6, rate));
}

/* A tractor with its rear hitch in work and its rear shaft engaged, and a controller. */
static struct story *tractor(void)
{
    struct story *s = story_new();

    story_background(s, 0, 79);
    story_wheel(s, 240, drive_field, 1.0, 0, 79);
    story_ground(s, 240, drive_field, 1.0, 0, 79);
    story_beat(s, story_id(3, 65093, 255, 240), 0.1, 0, 79, "FF7FFFFFFFFFFFFF");
    story_beat(s, story_id(3, 65091, 255, 240), 0.1, 0, 79, "FFFFFFFF7FFFFFFF");
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 1, 79, "FEFFFFFF01FFFFFF");
    story_claim(s, 0.5, 128, NAME_SPREADER);
    return s;
}

/* Two bins; the second puts nothing out, and is off where `off`. */
static struct outcome *two_bins(bool off, unsigned first_rate)
{
    struct story *s = tractor();

    for (unsigned bin = 1; bin <= 2; bin++)
        asks(s, 128, bin, RATE);
    tells(s, 128, 1, 141, 1, 10, 79);
    tells(s, 128, 2, 141, !off, 10, 79);
    tells(s, 128, 1, 7, first_rate, 10.2, 79);
    tells(s, 128, 2, 7, 0, 10.2, 79);
    return story_tell(s);
}

static bool names_element(const struct dbr_finding *f, const char *element)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strncmp(f->evidence.items[i], "without a rate", 14) == 0 &&
            strstr(f->evidence.items[i], element))
            return true;
    return false;
}

Test(diagnosis_switched_off, a_bin_that_is_off_lacks_no_rate)
{
    struct outcome *off = two_bins(true, RATE), *on = two_bins(false, RATE);

    cr_expect_not(outcome_has(off, "rate-missing", 128), "%s", outcome_codes(off));
    const struct dbr_finding *found = outcome_finding(on, "rate-missing", 128);
    cr_assert(found, "%s", outcome_codes(on));
    cr_expect(names_element(found, "element 2"));
    cr_expect_not(names_element(found, "element 1"), "it puts out all the while");
    outcome_free(off);
    outcome_free(on);
}

/* One that is off says nothing about the other, which works and puts nothing out. */
Test(diagnosis_switched_off, the_other_bin_is_judged_all_the_same)
{
    struct outcome *o = two_bins(true, 0);
    const struct dbr_finding *found = outcome_finding(o, "rate-missing", 128);

    cr_assert(found, "%s", outcome_codes(o));
    cr_expect(names_element(found, "element 1"));
    cr_expect_not(names_element(found, "element 2"));
    outcome_free(o);
}

/* An implement at 129 that is off and moves along, with or without a set-point of its own. */
static struct outcome *along(unsigned setpoint, bool other_works)
{
    struct story *s = tractor();

    story_claim(s, 0.6, 129, NAME_SPREADER + 1);
    asks(s, 128, 1, RATE);
    tells(s, 128, 1, 141, other_works, 10, 79);
    tells(s, 128, 1, 7, other_works ? RATE : 0, 10.2, 79);
    asks(s, 129, 1, setpoint);
    tells(s, 129, 1, 141, 0, 10.4, 79);
    return story_tell(s);
}

/* Hitch and shaft are those of the tractor: another implement may be in work by them. */
Test(diagnosis_switched_off, an_implement_that_is_taken_along)
{
    static const struct {
        const char *what;
        unsigned setpoint;
        bool other_works, missing;
    } rows[] = {
        {"asked for nothing", 0, false, false},
        {"the other one works", RATE, true, false},
        {"asked for a rate, down and driven, and no other works", RATE, false, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = along(rows[i].setpoint, rows[i].other_works);
        cr_expect_eq(outcome_has(o, "coverage-missing", 129), rows[i].missing, "%s: %s",
                     rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* Off from 40 s until `on_again`, down and driven all the while; then its meters go on or not. */
static struct outcome *headland(unsigned rate_while_off, double axle_until, double on_again)
{
    struct story *s = tractor();

    asks(s, 128, 1, RATE);
    story_axle(s, 128, drive_field, 1.0, 5, axle_until);
    story_axle(s, 128, drive_field, 0.0, axle_until, 79);
    tells(s, 128, 1, 141, 1, 10, 40);
    tells(s, 128, 1, 141, 0, 40, on_again);
    tells(s, 128, 1, 141, 1, on_again, 79);
    tells(s, 128, 1, 7, RATE, 10.2, 40);
    tells(s, 128, 1, 7, rate_while_off, 40.2, on_again);
    tells(s, 128, 1, 7, RATE, on_again + 0.2, 79);
    return story_tell(s);
}

Test(diagnosis_switched_off, a_trailed_implement_at_the_headland)
{
    struct outcome *off = headland(0, 79, 55), *on = headland(RATE, 79, 55);

    cr_expect(outcome_clean(off), "%s", outcome_codes(off));
    cr_expect(outcome_has(on, "coverage-missing", 128), "it puts out: %s", outcome_codes(on));
    outcome_free(off);
    outcome_free(on);
}

/* It did not switch off, its wheel died: what it does not cover follows from that. */
Test(diagnosis_switched_off, an_axle_that_dies_is_no_headland)
{
    struct outcome *o = headland(0, 39, 79);
    const struct dbr_finding *dead = outcome_finding(o, "speed-stuck-zero", 128);
    const struct dbr_finding *bare = outcome_finding(o, "coverage-missing", 128);

    cr_assert(dead && bare, "%s", outcome_codes(o));
    cr_expect(outcome_because(o, bare, dead));
    outcome_free(o);
}
