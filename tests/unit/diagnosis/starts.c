/*
 * When a finding begins: with what it tells, and not with the recording or with the first message.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/story.h"

static void expect_start(const struct outcome *o, const char *code, int address, double least_s,
                         double most_s)
{
    const struct dbr_finding *f = outcome_finding(o, code, address);

    cr_assert_not_null(f, "%s in %s", code, outcome_codes(o));
    double start = (double)f->start_ns / 1e9;
    cr_assert(f->timed && start >= least_s && start <= most_s, "%s: %g s, not %g .. %g s", code,
              start, least_s, most_s);
}

/* drive_field stands for 5 s and goes faster than 0.5 m/s from 6 s on. */
Test(diagnosis_starts, a_scale_is_wrong_from_the_first_motion_on)
{
    static const double scales[] = {0.75, 0.9, 1.1, 1.3};

    for (size_t i = 0; i < sizeof scales / sizeof scales[0]; i++) {
        struct outcome *o = story_tell(story_field(scales[i]));
        const struct dbr_finding *f = outcome_finding(o, "speed-disagrees", 128);
        expect_start(o, "speed-disagrees", 128, 5.9, 6.8);
        cr_expect(f->open);
        outcome_free(o);
    }
}

/* Times between which the axle tells a tenth less than the truth. */
static double wrong_from, right_from, wrong_again_from;

static double drive_changed(double t)
{
    bool wrong = (t >= wrong_from && t < right_from) || t >= wrong_again_from;
    return drive_field(t) * (wrong ? 0.9 : 1.0);
}

Test(diagnosis_starts, a_scale_that_was_right_at_first)
{
    static const struct {
        double wrong_from, right_from, wrong_again_from, least_s, most_s;
    } rows[] = {
        {35, 99, 99, 34.8, 35.6},  /* somebody changed the calibration */
        {8, 99, 99, 5.9, 6.8},     /* two seconds prove nothing */
        {0, 20, 40, 5.9, 6.8},     /* wrong, right, wrong: since the first motion */
        {20, 45, 65, 19.8, 20.6},  /* right, wrong, right, wrong: since it first was */
        {20, 22, 30, 29.8, 30.6},  /* two seconds, long over: none of it */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_field(-1);
        wrong_from = rows[i].wrong_from;
        right_from = rows[i].right_from;
        wrong_again_from = rows[i].wrong_again_from;
        story_axle(s, 128, drive_changed, 1.0, 1, 90);
        struct outcome *o = story_tell(s);
        expect_start(o, "speed-disagrees", 128, rows[i].least_s, rows[i].most_s);
        outcome_free(o);
    }
}

struct counter {
    double metres, last_s;
    double scale;  /* of the counter */
    double from_s; /* before that it counts right */
    bool simulated;
};

/* A selected speed (61474) with a counter beside it; standing still it may be simulated. */
static bool fill_counted(double t, uint8_t data[8], void *context)
{
    struct counter *c = context;
    double mps = drive_field(t);
    unsigned speed = (unsigned)lround(mps * 1000);

    c->metres += mps * (t - c->last_s) * (t < c->from_s ? 1.0 : c->scale);
    c->last_s = t;
    unsigned long millimetres = (unsigned long)llround(c->metres * 1000);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    for (unsigned i = 0; i < 4; i++)
        data[2 + i] = (uint8_t)(millimetres >> (8 * i));
    data[6] = 0xFF;
    data[7] = (uint8_t)(0xE1 | (c->simulated ? 4u : 0u) << 2); /* forward; SPN 4308 */
    return true;
}

static struct outcome *tell_counted(struct counter counter)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_every(s, story_id(3, 61474, 255, 240), 0.1, 0, 90, fill_counted, &counter);
    return story_tell(s);
}

Test(diagnosis_starts, a_distance_is_wrong_from_the_first_motion_on)
{
    struct outcome *o = tell_counted((struct counter){.scale = 0.8});

    expect_start(o, "distance-disagrees", 240, 4.9, 5.5);
    outcome_free(o);
}

/* Standing for 20 s, then a speed that is shown as zero, and a counter that goes at `mmps`. */
static struct outcome *tell_zero_speed(unsigned mmps)
{
    struct story *s = story_new();

    story_background(s, 0, 220);
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 0, 20, "000000000000FFFD");
    for (unsigned i = 0; i < 2000; i++) {
        char hex[17];
        unsigned mm = i * mmps / 10; /* low byte first */
        snprintf(hex, sizeof hex, "0000%02X%02X%02X00FFFD", mm & 0xFFu, mm >> 8 & 0xFFu,
                 mm >> 16 & 0xFFu);
        story_frame(s, 20 + 0.1 * i, story_id(3, 65096, 255, 240), hex);
    }
    return story_tell(s);
}

/* Speed zero, and the counter counts: that is motion too. */
Test(diagnosis_starts, a_distance_without_speed_begins_as_the_counter_does)
{
    struct outcome *o = tell_zero_speed(2800);

    expect_start(o, "distance-disagrees", 240, 19.8, 20.4);
    outcome_free(o);
}

/* At creeping speed a sensor may show zero; 80 m in 200 s. */
Test(diagnosis_starts, a_distance_at_creeping_speed)
{
    struct outcome *o = tell_zero_speed(400);

    cr_expect_not(outcome_has(o, "distance-disagrees", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* It is found by stretches of 50 m, of which each tells up to where the two agreed: 5 % of 50 m
 * are driven in a second or two. */
Test(diagnosis_starts, a_distance_that_was_right_at_first)
{
    struct outcome *o = tell_counted((struct counter){.scale = 0.5, .from_s = 50});

    expect_start(o, "distance-disagrees", 240, 49.9, 52);
    outcome_free(o);
}

/* Whoever lets the machine work at standstill by a simulated speed drives no distance. */
Test(diagnosis_starts, a_simulated_speed_has_no_distance_to_be_wrong)
{
    struct outcome *o = tell_counted((struct counter){.scale = 0.0, .simulated = true});

    cr_expect_not(outcome_has(o, "distance-disagrees", -1), "%s", outcome_codes(o));
    outcome_free(o);

    o = tell_counted((struct counter){.scale = 0.0, .simulated = false});
    cr_expect(outcome_has(o, "distance-disagrees", 240), "%s", outcome_codes(o));
    outcome_free(o);
}

struct misser {
    double from_s;  /* before that every beat comes, but for one */
    unsigned count, missing;
};

/* From a time on five beats of twelve are missing; before it two, once, which is no gap yet. */
static bool fill_missing(double t, uint8_t data[8], void *context)
{
    struct misser *m = context;

    memset(data, 0, 8);
    m->count++;
    if (t < m->from_s)
        return m->count != 50 && m->count != 51;
    return m->count % 12 >= 5;
}

Test(diagnosis_starts, a_beat_is_missed_from_the_first_gap_on)
{
    static const double from[] = {0.5, 10, 25};

    for (size_t i = 0; i < sizeof from / sizeof from[0]; i++) {
        struct story *s = story_new();
        struct misser misser = {.from_s = from[i]};
        story_background(s, 0, 60);
        story_every(s, story_id(6, 65300, 255, 140), 0.1, 0, 60, fill_missing, &misser);
        struct outcome *o = story_tell(s);
        expect_start(o, "message-gaps", 140, from[i] - 0.6, from[i] + 1.3);
        outcome_free(o);
    }
}
