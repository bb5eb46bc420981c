/*
 * told_once.c - what an implement and its controller say once, when it changes: kept while it is
 * heard, unknown after a gap.
 *
 * Process data by ISO 11783-10 (value command) and ISO 11783-11: DDI 6 set-point and 7 actual rate
 * in mg/m2, DDI 141 actual work state; 18000 mg/m2 are 180 kg/ha.
 */
#include <criterion/criterion.h>
#include <stdio.h>

#include "support/story.h"

#define ON 1u
#define RATE 18000u

static const char *value_command(unsigned element, unsigned ddi, unsigned value)
{
    static char hex[17];

    snprintf(hex, sizeof hex, "%02X%02X%02X%02X%02X%02X%02X%02X", (element & 0xFu) << 4 | 3u,
             element >> 4, ddi & 0xFFu, ddi >> 8, value & 0xFFu, value >> 8 & 0xFFu,
             value >> 16 & 0xFFu, value >> 24);
    return hex;
}

static void tractor(struct story *s, double from, double to)
{
    story_background(s, from, to);
    story_wheel(s, 240, drive_field, 1.0, from, to);
    story_ground(s, 240, drive_field, 1.0, from, to);
}

/* The actual rate, once a second. */
static void rates(struct story *s, double from, double to, unsigned rate)
{
    story_beat(s, story_id(3, 51968, 247, 128), 1.0, from, to, value_command(1, 7, rate));
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
    story_frame(s, 8, story_id(3, 51968, 128, 247), value_command(1, 6, RATE));
    story_frame(s, 10, own, value_command(1, 141, ON));
    rates(s, 10, 40, RATE);
    rates(s, 40 + gap, 79, rate_after);
    if (told_again > 0)
        story_frame(s, told_again, own, value_command(1, 141, ON));
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
