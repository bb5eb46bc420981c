/* Bus health and flaws of the recording. Error frames: linux/can/error.h. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

Test(diagnosis_bus, the_recorder_leaves_the_bus_and_is_restarted)
{
    struct story *s = story_new();
    story_background(s, 0, 20);
    story_error(s, 19.0, 0x204, "0008000000006000"); /* transmit warning, counter 96 */
    story_error(s, 19.2, 0x204, "0020000000008000"); /* transmit passive, counter 128 */
    story_error(s, 20.0, 0x40, zeros);
    story_error(s, 21.5, 0x100, zeros);
    story_background(s, 21.6, 40);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "bus-off", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->start_ns, 20000000000);
    cr_assert_eq(f->end_ns, 21500000000);
    cr_assert(outcome_because(o, outcome_finding(o, "bus-error-passive", -1), f));
    cr_assert(outcome_because(o, outcome_finding(o, "bus-error-warning", -1), f));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1, "%s", outcome_codes(o));
    cr_assert_eq(o->history->buses[0].transmit_errors_max, 128);
    cr_assert_not(outcome_has(o, "recording-no-error-frames", -1));
    outcome_free(o);
}

Test(diagnosis_bus, a_bus_off_without_restart_lasts)
{
    struct story *s = story_new();
    story_background(s, 0, 20);
    story_error(s, 20.0, 0x40, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "bus-off", -1);

    cr_assert_not_null(f);
    cr_assert(f->open);
    outcome_free(o);
}

Test(diagnosis_bus, eleven_error_frames_in_a_second_are_a_burst)
{
    static const struct {
        int count;
        double span;
        bool expected;
    } rows[] = {{10, 0.9, false}, {11, 0.9, true}, {30, 10.0, false}};

    for (size_t i = 0; i < 3; i++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        for (int k = 0; k < rows[i].count; k++)
            story_error(s, 10.0 + rows[i].span * k / rows[i].count, 0x88, "0000040000000000");
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "bus-error-burst", -1);
        cr_assert_eq(f != NULL, rows[i].expected, "row %zu: %s", i, outcome_codes(o));
        cr_assert(!f || strstr(f->title, "stuff"), "%s", f ? f->title : "");
        outcome_free(o);
    }
}

/* One root: the counters only count the errors. */
/* Fifteen error frames in half a second. */
static void burst(struct story *s, double at)
{
    for (int k = 0; k < 15; k++)
        story_error(s, at + k / 30.0, 0x88, "0000100000000000");
}

/* An ECU that sends into errors leaves, and starts anew (ISO 11898-1): one event. It is away from
 * 30 s to 36 s. */
Test(diagnosis_bus, errors_that_drive_an_ecu_off_are_no_second_cause)
{
    static const struct {
        const char *what;
        double first, second; /* bursts; 0: none */
        size_t roots;
    } rows[] = {
        {"as it leaves", 29.4, 0, 1},
        {"and as it tries to return", 29.4, 33, 1},
        {"and half a minute before it leaves", 5, 29.4, 2},
        {"and when it is back", 29.4, 40, 2},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_ground(s, 240, drive_stand, 1.0, 0, 60);
        story_claim(s, 0.1, 128, NAME_SPREADER);
        story_beat(s, story_id(6, 65300, 255, 128), 0.1, 0.5, 30, zeros);
        story_claim(s, 36.0, 128, NAME_SPREADER);
        story_beat(s, story_id(6, 65300, 255, 128), 0.1, 36.3, 60, zeros);
        burst(s, rows[i].first);
        if (rows[i].second > 0)
            burst(s, rows[i].second);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *off = outcome_finding(o, "bus-off-suspected", 128);
        const struct dbr_finding *errors = outcome_finding(o, "bus-error-burst", -1);
        cr_assert(off && errors, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(outcome_because(o, errors, off), rows[i].roots == 1, "%s", rows[i].what);
        cr_expect_eq(o->diagnosis->verdict.root_cause_count, rows[i].roots, "%s: %s",
                     rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_bus, a_burst_makes_the_recorder_passive)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    for (int k = 0; k < 16; k++)
        story_error(s, 10.0 + 0.01 * k, 0x88, "0000040000000000");
    story_error(s, 10.2, 0x204, "0010000000000080"); /* receive passive, counter 128 */
    story_error(s, 12.0, 0x204, "0040000000000050"); /* active again */
    struct outcome *o = story_tell(s);
    const struct dbr_finding *passive = outcome_finding(o, "bus-error-passive", -1);
    const struct dbr_finding *burst = outcome_finding(o, "bus-error-burst", -1);

    cr_assert(passive && burst, "%s", outcome_codes(o));
    cr_assert(outcome_because(o, passive, burst));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1, "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_bus, nobody_acknowledges)
{
    /* class no-acknowledge; a bus error in the ACK slot; a bus error elsewhere */
    static const struct {
        uint32_t classes;
        char data[17];
        bool expected;
    } rows[] = {{0x20, "0000000000000000", true},
                {0x88, "0000001900000000", true},
                {0x88, "0000020000000000", false}};

    for (size_t i = 0; i < 3; i++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        story_error(s, 10.0, rows[i].classes, rows[i].data);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "bus-no-acknowledge", -1), rows[i].expected, "row %zu: %s",
                     i, outcome_codes(o));
        outcome_free(o);
    }
}

/* Frames of 146 bits with intermission: see the worked lengths of frame_bits.c. */
static struct outcome *loaded(double percent)
{
    struct story *s = story_new();
    double period = 146.0 / 250000.0 / (percent / 100);

    for (double t = 0; t < 5; t += period)
        story_frame(s, t, 0x18FEF100, "FFFFFFFFFFFFFFFF");
    return story_tell(s);
}

Test(diagnosis_bus, load_is_exact_and_judged_by_the_second)
{
    static const struct {
        double percent;
        bool expected;
        enum dbr_severity severity;
    } rows[] = {{30, false, DBR_NOTE}, {65, false, DBR_NOTE}, {75, true, DBR_WARNING},
                {95, true, DBR_FAULT}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = loaded(rows[i].percent);
        const struct dbr_finding *f = outcome_finding(o, "bus-load-high", -1);
        cr_assert_float_eq(o->history->buses[0].load_mean_percent, rows[i].percent,
                           rows[i].percent * 0.01);
        cr_assert_float_eq(o->history->buses[0].load_peak_percent, rows[i].percent,
                           rows[i].percent * 0.02);
        cr_assert_eq(f != NULL, rows[i].expected, "row %zu: %s", i, outcome_codes(o));
        cr_assert(!f || f->severity == rows[i].severity);
        outcome_free(o);
    }
}

Test(diagnosis_bus, less_than_the_second_over_which_load_is_measured_has_no_load)
{
    static const struct {
        double last;
        bool measured;
    } rows[] = {{0.9, false}, {1.0, true}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_frame(s, 0, 0x18FEF100, "FFFFFFFFFFFFFFFF");
        story_frame(s, rows[i].last, 0x18FEF100, "FFFFFFFFFFFFFFFF");
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->buses[0].measured, rows[i].measured, "row %zu", i);
        outcome_free(o);
    }
}

Test(diagnosis_bus, foreign_frames_are_a_note)
{
    struct story *s = story_new();
    struct dbr_frame standard = {.at_ns = 5000000000, .id = 0x222, .length = 8};
    struct dbr_frame fd = {.at_ns = 6000000000, .id = 0x123, .length = 12, .flags = DBR_FRAME_FD};

    story_background(s, 0, 10);
    story_raw(s, &standard);
    story_raw(s, &fd);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "bus-foreign-frames", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_NOTE);
    cr_assert_eq(f->start_ns, 5000000000);
    outcome_free(o);
}

Test(diagnosis_bus, a_quiet_bus_that_pauses_as_a_habit_has_no_gap)
{
    struct story *s = story_new();
    for (int i = 0; i < 200; i++)
        story_frame(s, i * 1.5, 0x18FEF100, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "recording-gap", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* The same traffic, one gap of 3 s in it, and lulls of less than a second beside. */
Test(diagnosis_bus, traffic_that_hesitates_as_a_habit_has_no_gap)
{
    for (unsigned lulls = 0; lulls < 2; lulls++) {
        struct story *s = story_new();
        story_background(s, 0, 10);
        story_background(s, 10 + 0.6 * lulls, 20);
        story_background(s, 23, 40);
        struct outcome *o = story_tell(s);

        cr_assert_eq(outcome_has(o, "recording-gap", -1), lulls == 0, "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/* Two units that start one after the other, then a bus that goes on but for a gap of `gap_s`. */
static struct outcome *start_then_gap(double gap_s)
{
    struct story *s = story_new();

    for (int i = 0; i < 4; i++)
        story_frame(s, i * 1.2, 0x18FEF100, zeros);
    story_background(s, 5, 25);
    story_background(s, 25 + gap_s, 45);
    return story_tell(s);
}

Test(diagnosis_bus, a_gap_is_found_whatever_the_start_was_like)
{
    struct outcome *o = start_then_gap(3);
    const struct dbr_finding *f = outcome_finding(o, "recording-gap", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(f->count, 1);
    cr_expect(f->start_ns > 24500000000 && f->start_ns <= 25000000000);
    cr_expect(f->end_ns >= 28000000000 && f->end_ns < 28100000000);
    outcome_free(o);
}

Test(diagnosis_bus, a_start_in_pieces_is_no_gap)
{
    struct outcome *o = start_then_gap(0);

    cr_assert_not(outcome_has(o, "recording-gap", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_bus, what_still_comes_after_the_traffic_is_behind_no_gap)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_frame(s, 25, 0x18FEF100, zeros);
    story_frame(s, 27, 0x18FEF100, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "recording-gap", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_bus, a_sent_frame_heard_again_is_one_frame)
{
    struct story *s = story_new();
    struct dbr_frame sent = {.at_ns = 1000000000,
                             .id = 0x18FEF100,
                             .flags = DBR_FRAME_EXTENDED | DBR_FRAME_SENT,
                             .length = 8};
    struct dbr_frame copy = sent;

    copy.flags = DBR_FRAME_EXTENDED | DBR_FRAME_COPY;
    story_raw(s, &sent);
    story_raw(s, &copy);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->buses[0].frames, 1);
    cr_assert_eq(o->history->ecus[0].frames, 1);
    outcome_free(o);
}
