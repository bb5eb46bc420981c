/*
 * told_once.c - what an implement and its controller say once, when it changes: kept while it is
 * heard, unknown after a gap, and understood also where the recording begins in mid-work.
 *
 * Process data by ISO 11783-10 (value command) and ISO 11783-11: DDI 6 set-point and 7 actual rate
 * in mg/m2, DDI 141 actual work state; 18000 mg/m2 are 180 kg/ha.
 */
#include <criterion/criterion.h>

#include "drawbar/limits.h"
#include "support/story.h"

#define ON 1u
#define RATE 18000u

static void tractor(struct story *s, double from, double to)
{
    story_background(s, from, to);
    story_wheel(s, 240, drive_field, 1.0, from, to);
    story_ground(s, 240, drive_field, 1.0, from, to);
}

/* The actual rate, once a second. */
static void rates(struct story *s, double from, double to, unsigned rate)
{
    story_beat(s, story_id(3, 51968, 247, 128), 1.0, from, to, story_value(1, 7, rate));
}

/* The recorder misses `gap` seconds from 40 s on; from then on there is another rate. */
static struct outcome *missed(double gap, double told_again, unsigned rate_after)
{
    struct story *s = story_new();
    const uint32_t own = story_id(3, 51968, 247, 128), status = story_id(3, 51968, 255, 247);

    tractor(s, 0, 40);
    tractor(s, 40 + gap, 79);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_beat(s, status, 2.0, 1, 40, "FEFFFFFF01FFFFFF");
    story_beat(s, status, 2.0, 40 + gap, 79, "FEFFFFFF01FFFFFF");
    story_frame(s, 8, story_id(3, 51968, 128, 247), story_value(1, 6, RATE));
    story_frame(s, 10, own, story_value(1, 141, ON));
    rates(s, 10, 40, RATE);
    rates(s, 40 + gap, 79, rate_after);
    if (told_again > 0)
        story_frame(s, told_again, own, story_value(1, 141, ON));
    return story_tell(s);
}

Test(diagnosis_told_once, a_work_state_is_unknown_after_a_gap)
{
    static const struct {
        const char *what;
        double gap, again;
        bool missing;
    } rows[] = {
        {"no gap: it works and puts nothing out", 0.1, 0, true},
        {"a gap, in which it may have been raised", 5, 0, false},
        {"a gap, and it says again that it works", 5, 50, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = missed(rows[i].gap, rows[i].again, 0);
        cr_expect_eq(outcome_has(o, "rate-missing", 128), rows[i].missing, "%s: %s", rows[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Unknown is not off: a rate goes on, and nothing says that it is not mapped. */
Test(diagnosis_told_once, a_work_state_that_is_unknown_contradicts_no_rate)
{
    struct outcome *o = missed(5, 0, RATE);

    cr_expect(outcome_finding(o, "recording-gap", -1));
    cr_expect_not(outcome_has(o, "coverage-missing", 128), "%s", outcome_codes(o));
    outcome_free(o);
}

/* From mid-work on; claims are not heard any more. The status comes when `status` says; < 0: never. */
static struct outcome *joined(double order, double status)
{
    struct story *s = story_new();

    tractor(s, 6, 79);
    if (status >= 0)
        story_beat(s, story_id(3, 51968, 255, 247), 2.0, status, 79, "FEFFFFFF01FFFFFF");
    story_frame(s, order, story_id(3, 51968, 128, 247), story_value(1, 6, RATE));
    story_frame(s, 6.2, story_id(3, 51968, 247, 128), story_value(1, 141, ON));
    rates(s, 7, 79, 0);
    return story_tell(s);
}

static bool has_chain(const struct outcome *o, int address)
{
    for (size_t i = 0; i < o->history->implement_count; i++)
        if (o->history->implements[i].address == address)
            return true;
    return false;
}

/* Who gives a set-point and who reports one is told by the status, be it after the set-point. */
Test(diagnosis_told_once, a_set_point_before_the_first_status_is_the_implements)
{
    static const double orders[] = {6.3, 9.0};

    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        struct outcome *o = joined(orders[i], 7.9);
        cr_expect(outcome_has(o, "rate-missing", 128), "%g: %s", orders[i], outcome_codes(o));
        cr_expect(has_chain(o, 128));
        cr_expect_not(has_chain(o, 247), "%g: the controller is no implement", orders[i]);
        outcome_free(o);
    }
}

/* Without a status nobody is known to be a controller: then its sender speaks of itself. */
Test(diagnosis_told_once, a_set_point_without_any_status_is_its_senders)
{
    struct outcome *o = joined(6.3, -1);

    cr_expect(has_chain(o, 247));
    cr_expect_not(outcome_has(o, "rate-missing", 128), "%s", outcome_codes(o));
    outcome_free(o);
}

/* What cannot wait is told at once: nothing is lost, and nothing written beyond the room for it. */
Test(diagnosis_told_once, more_set_points_than_can_wait)
{
    struct story *s = story_new();

    tractor(s, 6, 8);
    for (unsigned i = 0; i < 2 * DBR_EARLY_SETPOINTS_MAX; i++)
        story_frame(s, 6.5 + 0.001 * i, story_id(3, 51968, 247, (uint8_t)(128 + i % 2)),
                    story_value(1, 6, RATE));
    struct outcome *o = story_tell(s);
    cr_expect(has_chain(o, 128) && has_chain(o, 129));
    outcome_free(o);
}

/* A recording that ends while it waits loses nothing of what was said. */
Test(diagnosis_told_once, a_set_point_just_before_the_end_is_told)
{
    struct story *s = story_new();

    tractor(s, 6, 8);
    story_frame(s, 7.9, story_id(3, 51968, 247, 128), story_value(1, 6, RATE));
    struct outcome *o = story_tell(s);
    cr_expect(has_chain(o, 128));
    outcome_free(o);
}
