/*
 * Findings on sources set side by side: scale, distance, direction, selection, and none at
 * all. As in speed.c each has a recording that fires it and near misses.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/story.h"

Test(diagnosis_agreement, scale_errors_by_size)
{
    static const struct {
        double scale;
        bool expected;
        enum dbr_severity severity;
    } rows[] = {{1.03, false, DBR_NOTE}, {0.97, false, DBR_NOTE}, {0.90, true, DBR_WARNING},
                {1.10, true, DBR_WARNING}, {0.75, true, DBR_FAULT}, {1.30, true, DBR_FAULT}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = story_tell(story_field(rows[i].scale));
        const struct dbr_finding *f = outcome_finding(o, "speed-disagrees", 128);
        cr_assert_eq(f != NULL, rows[i].expected, "scale %g: %s", rows[i].scale,
                     outcome_codes(o));
        cr_assert(!f || f->severity == rows[i].severity, "scale %g", rows[i].scale);
        /* The sound ones are not convicted by the wrong one. */
        cr_assert_not(outcome_has(o, "speed-disagrees", 28), "%s", outcome_codes(o));
        cr_assert_not(outcome_has(o, "speed-disagrees", 240), "%s", outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_agreement, a_driven_wheel_that_runs_ahead_slips)
{
    struct story *s = story_new();
    story_background(s, 0, 90);
    story_wheel(s, 240, drive_field, 1.10, 1, 90);
    story_ground(s, 240, drive_field, 1.0, 1, 90);
    story_gnss(s, 28, drive_field, 1.0, 1, 90);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-disagrees", 240);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_NOTE);
    cr_assert_eq(f->pgn, 65096);
    cr_assert(outcome_clean(o));
    outcome_free(o);
}

Test(diagnosis_agreement, of_two_that_differ_neither_is_convicted)
{
    struct story *s = story_new();
    story_background(s, 0, 90);
    story_wheel(s, 240, drive_field, 1.25, 1, 90);
    story_ground(s, 240, drive_field, 1.25, 1, 90);
    story_axle(s, 128, drive_field, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        cr_assert_neq(o->diagnosis->findings[i].severity, DBR_FAULT, "%s", outcome_codes(o));
    cr_assert(outcome_has(o, "speed-disagrees", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

struct odometer {
    double metres, last, scale;
};

static bool fill_wrong_distance(double t, uint8_t data[8], void *context)
{
    struct odometer *o = context;
    double mps = drive_field(t);
    unsigned speed = (unsigned)lround(mps * 1000);

    o->metres += mps * (t - o->last) * o->scale;
    o->last = t;
    unsigned long millimetres = (unsigned long)llround(o->metres * 1000);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    for (unsigned i = 0; i < 4; i++)
        data[2 + i] = (uint8_t)(millimetres >> (8 * i));
    data[6] = 0xFF;
    data[7] = 0xFD;
    return true;
}

Test(diagnosis_agreement, a_counter_that_counts_ten_percent_off_disagrees)
{
    static const struct {
        double scale, start;
        bool expected;
    } rows[] = {{1.0, 0, false}, {0.97, 0, false}, {0.9, 0, true}, {1.1, 0, true},
                /* the counter begins again at 0 after 4 211 081.215 m (ISO 11783-7) */
                {1.0, 4211000.0, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        struct odometer odometer = {rows[i].start, 0, rows[i].scale};
        story_background(s, 0, 90);
        story_every(s, story_id(3, 65096, 255, 240), 0.1, 0, 90, fill_wrong_distance, &odometer);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "distance-disagrees", 240), rows[i].expected, "row %zu: %s",
                     i, outcome_codes(o));
        outcome_free(o);
    }
}

static bool fill_reverse(double t, uint8_t data[8], void *context)
{
    (void)context;
    unsigned speed = (unsigned)lround(drive_field(t) * 1000);
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    data[7] = 0xFC; /* direction: reverse */
    return true;
}

Test(diagnosis_agreement, opposite_directions_while_moving)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_wheel(s, 240, drive_field, 1.0, 0, 60);
    story_every(s, story_id(3, 65097, 255, 240), 0.1, 0, 60, fill_reverse, NULL);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "direction-disagrees", 240), "%s", outcome_codes(o));
    outcome_free(o);
}

static bool fill_selected(double t, uint8_t data[8], void *context)
{
    const char *scheme = context;
    bool wheel = scheme[0] == 'w' || t < 30;
    double mps = wheel && scheme[1] == '0' ? 0 : drive_field(t);
    unsigned speed = (unsigned)lround(mps * 1000);
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    data[7] = (uint8_t)(0xE1 | (wheel ? 0 : 1) << 2); /* forward; source wheel or ground */
    return true;
}

Test(diagnosis_agreement, the_selected_source_changes)
{
    struct story *s = story_new();
    char scheme[] = "x1";
    story_background(s, 0, 60);
    story_wheel(s, 240, drive_field, 1.0, 0, 60);
    story_ground(s, 240, drive_field, 1.0, 0, 60);
    story_every(s, story_id(3, 61474, 255, 240), 0.1, 0, 60, fill_selected, scheme);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-source-changed", 240);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert(f->start_ns > 29800000000 && f->start_ns < 30300000000);
    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_agreement, a_selected_speed_follows_its_dead_source)
{
    struct story *s = story_new();
    char scheme[] = "w0";
    story_background(s, 0, 60);
    story_wheel(s, 240, drive_stand, 1.0, 0, 60);
    story_ground(s, 240, drive_field, 1.0, 0, 60);
    story_gnss(s, 28, drive_field, 1.0, 0, 60);
    story_every(s, story_id(3, 61474, 255, 240), 0.1, 0, 60, fill_selected, scheme);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *root = NULL, *follower = NULL;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        if (strcmp(f->code, "speed-stuck-zero") == 0 && f->pgn == 65096)
            root = f;
        if (strcmp(f->code, "speed-stuck-zero") == 0 && f->pgn == 61474)
            follower = f;
    }
    cr_assert_not_null(root, "%s", outcome_codes(o));
    cr_assert_not_null(follower, "%s", outcome_codes(o));
    cr_assert(outcome_because(o, follower, root));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1);
    outcome_free(o);
}

static const struct dbr_finding *scale_of(const struct outcome *o, int32_t pgn)
{
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        if (strcmp(f->code, "speed-disagrees") == 0 && f->pgn == pgn)
            return f;
    }
    return NULL;
}

struct selection {
    double until_s;        /* it selects the wheel, then satellites */
    double wheel_until_s;  /* so long its value is the wheel's, which slips by a tenth */
    double scale;          /* of its value after that */
};

static bool fill_switched(double t, uint8_t data[8], void *context)
{
    const struct selection *c = context;
    double mps = drive_field(t) * (t < c->wheel_until_s ? 1.1 : c->scale);
    unsigned speed = (unsigned)lround(mps * 1000);

    memset(data, 0xFF, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    data[7] = (uint8_t)(0xE1 | (t < c->until_s ? 0 : 2) << 2); /* forward; SPN 4308 */
    return true;
}

/* Machine selected speed counts as what it selects: slip is no fault of its own. */
Test(diagnosis_agreement, a_selected_speed_that_is_the_slipping_wheels_for_a_time)
{
    static const struct {
        struct selection selection;
        bool wheel; /* which speaks for itself */
        bool found;
        enum dbr_severity severity;
    } rows[] = {
        {{60, 60, 1.0}, true, true, DBR_NOTE},   /* the wheel, for most of the time */
        {{60, 60, 1.0}, false, true, DBR_NOTE},
        {{30, 30, 1.0}, true, false, DBR_NOTE},  /* satellites, for most of the time */
        {{30, 99, 1.0}, true, true, DBR_NOTE},   /* the word changes, the value does not */
        {{30, 30, 1.1}, false, true, DBR_WARNING}, /* a tenth too fast without the wheel */
        {{0, 0, 1.12}, true, true, DBR_WARNING},
        {{60, 0, 0.9}, true, true, DBR_WARNING},  /* slow is no slip */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        struct selection selection = rows[i].selection;
        story_background(s, 0, 90);
        if (rows[i].wheel)
            story_wheel(s, 240, drive_field, 1.1, 1, 90);
        story_ground(s, 240, drive_field, 1.0, 1, 90);
        story_gnss(s, 28, drive_field, 1.0, 1, 90);
        story_every(s, story_id(3, 61474, 255, 240), 0.1, 1, 90, fill_switched, &selection);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = scale_of(o, 61474);
        cr_assert_eq(f != NULL, rows[i].found, "row %zu: %s", i, outcome_codes(o));
        cr_assert(!f || f->severity == rows[i].severity, "row %zu: %s", i, outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_agreement, an_implement_without_any_speed_on_the_bus)
{
    struct story *s = story_new();
    story_background(s, 0, 40);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, 65300, 255, 128), 0.1, 1, 40, "0000000000000000");
    struct outcome *o = story_tell(s);
    cr_assert(outcome_has(o, "speed-missing", -1), "%s", outcome_codes(o));
    outcome_free(o);

    /* Without an implement nobody misses a speed. */
    s = story_new();
    story_background(s, 0, 40);
    o = story_tell(s);
    cr_assert_not(outcome_has(o, "speed-missing", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_agreement, without_time_stamps_nothing_is_judged)
{
    struct outcome *o = story_tell_untimed(story_field(0.0));

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    cr_assert(o->diagnosis->cannot_tell.count > 0);
    outcome_free(o);
}
