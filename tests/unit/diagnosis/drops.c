/*
 * A connection that comes and goes: short spells of zero at speed, and what looks like them.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/story.h"

#define ZERO "speed-stuck-zero"

/* Spells of zero that a source tells while the drive goes on. */
struct zeros {
    double first_s, lasts_s, every_s;
    unsigned count;
    double share;      /* of the speed of the field that it drives at */
    double meanwhile;  /* and during them */
    double before_mps; /* what the source tells for a second; 0: the truth */
    double after_mps;
};

static struct zeros zeros;

/* Seconds since the nearest spell began. */
static double since_zeros(double t)
{
    double i = floor((t - zeros.first_s + 1) / zeros.every_s);

    return t - zeros.first_s - fmin(fmax(i, 0), zeros.count - 1.0) * zeros.every_s;
}

static double drive_here(double t)
{
    double since = since_zeros(t);
    return drive_field(t) * (since >= 0 && since < zeros.lasts_s ? zeros.meanwhile : zeros.share);
}

static double drive_dropping(double t)
{
    double since = since_zeros(t);

    if (since >= 0 && since < zeros.lasts_s)
        return 0;
    if (zeros.before_mps > 0 && since >= -1 && since < 0)
        return zeros.before_mps;
    if (zeros.after_mps > 0 && since >= zeros.lasts_s && since < zeros.lasts_s + 1)
        return zeros.after_mps;
    return drive_here(t);
}

static const struct dbr_speed_source *source_at(const struct outcome *o, uint8_t address)
{
    for (size_t i = 0; i < o->history->source_count; i++)
        if (o->history->sources[i].address == address)
            return &o->history->sources[i];
    return NULL;
}

Test(diagnosis_drops, three_that_make_five_seconds_are_a_fault)
{
    static const struct {
        struct zeros zeros;
        bool found;
    } rows[] = {
        {{20.05, 2.0, 10, 3, 1, 1, 0, 0}, true},
        {{20.05, 3.0, 10, 5, 1, 1, 0, 0}, true},
        {{20.05, 6.0, 15, 3, 1, 1, 0, 0}, true},      /* each of them tells by itself */
        {{20.05, 1.3, 10, 5, 0.6, 0.6, 0, 0}, true},  /* 1.7 m/s */
        {{20.05, 4.0, 10, 2, 1, 1, 0, 0}, false},     /* two may be chance */
        {{20.05, 1.3, 10, 3, 1, 1, 0, 0}, false},     /* less than five seconds in all */
        {{20.05, 0.6, 4, 12, 1, 1, 0, 0}, false},     /* a message or two */
        {{20.05, 3.0, 10, 5, 0.3, 0.3, 0, 0}, false}, /* 0.8 m/s: a receiver may not show it */
        {{20.05, 3.0, 10, 5, 1, 0.32, 0, 0}, false},  /* it creeps only then */
        {{20.05, 3.0, 10, 5, 1, 1, 0.4, 0}, false},   /* from low speed to zero */
        {{20.05, 3.0, 10, 5, 1, 1, 0, 0.4}, false},   /* from zero to low speed */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        zeros = rows[i].zeros;
        story_background(s, 0, 90);
        story_wheel(s, 240, drive_here, 1.0, 1, 90);
        story_ground(s, 240, drive_here, 1.0, 1, 90);
        story_gnss(s, 28, drive_dropping, 1.0, 1, 90);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, ZERO, -1);
        cr_assert_eq(f != NULL, rows[i].found, "row %zu: %s", i, outcome_codes(o));
        if (f) {
            cr_expect_eq(f->address, 28);
            cr_expect_eq(f->count, zeros.count, "row %zu: %u", i, (unsigned)f->count);
            cr_expect(f->start_ns > 19900000000 && f->start_ns < 20600000000, "row %zu", i);
            cr_expect_eq(source_at(o, 28)->state, DBR_SPEED_STATE_INTERMITTENT);
        }
        outcome_free(o);
    }
}

/* To zero and back within a tenth of a second is a jump as well: one cause, not two. */
Test(diagnosis_drops, jumps_follow_from_them)
{
    struct story *s = story_new();

    zeros = (struct zeros){20.05, 2.0, 4.0, 6, 1, 1, 0, 0};
    story_background(s, 0, 90);
    story_wheel(s, 240, drive_dropping, 1.0, 1, 90);
    story_gnss(s, 28, drive_here, 1.0, 1, 90);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *jumps = outcome_finding(o, "speed-erratic", 240);

    cr_assert_not_null(jumps, "%s", outcome_codes(o));
    cr_expect(outcome_because(o, jumps, outcome_finding(o, ZERO, 240)), "%s", outcome_codes(o));
    cr_expect_eq(o->diagnosis->verdict.root_cause_count, 1);
    outcome_free(o);
}

/* A dead source that dropped before: it was bad since then. */
Test(diagnosis_drops, one_before_a_long_spell_belongs_to_it)
{
    static const unsigned counts[] = {1, 2};

    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 90);
        story_wheel(s, 240, drive_field, 1.0, 1, 90);
        zeros = (struct zeros){20.05, 2.0, 10.0, counts[i], 1, 1, 0, 0};
        story_gnss(s, 28, drive_dropping, 1.0, 1, 50);
        story_gnss(s, 28, drive_stand, 1.0, 50, 90);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, ZERO, 28);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect(f->start_ns > 19900000000 && f->start_ns < 20600000000);
        cr_expect(f->open);
        cr_expect_eq(f->count, counts[i] + 1);
        outcome_free(o);
    }
}

/* One and the same speed for eight seconds at a time, beyond a spell of zeros on either side. */
static bool in_steps(double t, uint8_t data[8], void *context)
{
    unsigned mmps = 2700 + 10 * (unsigned)((t + 1) / 10);

    (void)context;
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)(mmps & 0xFF);
    data[1] = (uint8_t)(mmps >> 8);
    return true;
}

/* A single other source convicts nobody where it may be frozen itself. */
Test(diagnosis_drops, a_witness_that_does_not_change_is_none)
{
    struct story *s = story_new();

    zeros = (struct zeros){20.05, 3.0, 10, 5, 1, 1, 0, 0};
    story_background(s, 0, 90);
    story_every(s, story_id(3, 65096, 255, 240), 0.1, 7, 80, in_steps, NULL);
    story_gnss(s, 28, drive_dropping, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(outcome_has(o, ZERO, 28), "%s", outcome_codes(o));
    outcome_free(o);
}

/* Of two against one the one may be the sick one. */
Test(diagnosis_drops, two_that_drop_together_are_not_convicted_by_one)
{
    struct story *s = story_new();

    zeros = (struct zeros){20.05, 3.0, 10, 5, 1, 1, 0, 0};
    story_background(s, 0, 90);
    story_wheel(s, 240, drive_here, 1.0, 1, 90);
    story_gnss(s, 29, drive_dropping, 1.0, 1, 90);
    story_gnss(s, 28, drive_dropping, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(outcome_has(o, ZERO, -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* 129026 with the speed of the dropping source. */
static bool fill_receiver(double t, uint8_t data[8], void *context)
{
    long cmps = lround(drive_dropping(t) * 100);

    (void)context;
    memset(data, 0xFF, 8);
    data[4] = (uint8_t)(cmps & 0xFF);
    data[5] = (uint8_t)(cmps >> 8);
    return true;
}

/* A slow receiver: one message without speed lasts as long as a drop, two are one. */
Test(diagnosis_drops, single_messages_of_a_slow_source_are_none)
{
    static const struct {
        double lasts_s;
        bool found;
    } rows[] = {{1.2, false}, {2.4, true}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        zeros = (struct zeros){20.05, rows[i].lasts_s, 6, 9, 1, 1, 0, 0};
        story_background(s, 0, 90);
        story_wheel(s, 240, drive_here, 1.0, 1, 90);
        story_ground(s, 240, drive_here, 1.0, 1, 90);
        story_every(s, story_id(2, 129026, 255, 28), 1.2, 1, 90, fill_receiver, NULL);
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, ZERO, 28), rows[i].found, "row %zu: %s", i, outcome_codes(o));
        outcome_free(o);
    }
}

/* Actual work state of the spreader (DDI 141), once a second. */
static void work_state(struct story *s, double from, double to, bool on)
{
    story_beat(s, story_id(3, 51968, 247, 128), 1.0, from, to,
               on ? "03008D0001000000" : "03008D0000000000");
}

/* An implement's own wheel has to roll only while the implement is known to be down. */
Test(diagnosis_drops, of_an_axle_count_while_it_works)
{
    static const struct {
        bool told, working, found;
    } rows[] = {{true, true, true}, {true, false, false}, {false, false, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_field(-1);
        zeros = (struct zeros){20.05, 3.0, 10.0, 5, 1, 1, 0, 0};
        story_axle(s, 128, drive_dropping, 1.0, 1, 90);
        if (rows[i].told)
            work_state(s, 1, 90, rows[i].working);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, ZERO, 128), rows[i].found, "row %zu: %s", i,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Lifted at the headland the wheel stands at once; the work state says so two seconds later. */
Test(diagnosis_drops, a_wheel_that_is_lifted_at_the_headland)
{
    struct story *s = story_field(-1);

    zeros = (struct zeros){20.05, 4.0, 10.0, 5, 1, 1, 0, 0};
    story_axle(s, 128, drive_dropping, 1.0, 1, 90);
    work_state(s, 1, 22, true);
    for (int i = 0; i < 5; i++) {
        story_frame(s, 22.1 + 10 * i, story_id(3, 51968, 247, 128), "03008D0000000000");
        work_state(s, 25 + 10 * i, 32 + 10 * i, true);
    }
    struct outcome *o = story_tell(s);

    cr_expect_not(outcome_has(o, ZERO, 128), "%s", outcome_codes(o));
    outcome_free(o);
}

static double drive_with_stops(double t)
{
    double into = fmod(t, 12.0); /* two seconds to stop, three of standstill, two to drive on */
    double share = into < 2 ? 1 - into / 2 : into < 5 ? 0 : into < 7 ? (into - 5) / 2 : 1;

    return drive_field(t) * share;
}

static double drive_with_stops_smoothed(double t)
{
    return drive_with_stops(t - 1.5);
}

/* Satellites tell of a stop later than the wheel does. */
Test(diagnosis_drops, a_machine_that_stops_again_and_again)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_wheel(s, 240, drive_with_stops, 1.0, 1, 90);
    story_gnss(s, 28, drive_with_stops_smoothed, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(outcome_has(o, ZERO, -1), "%s", outcome_codes(o));
    outcome_free(o);
}
