/*
 * work_words.c - what is said beside a rate that is missing, and when a controller is lost: by the
 * key it is not.
 *
 * A client of a task controller (ISO 11783-10) that works from 14 s to 80 s while the machine
 * drives; nothing comes out of it at the times that a story says.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/story.h"

#define VALUE 51968u

struct jam {
    double from, to, every; /* from so many seconds on, for `to` seconds of `every` */
};

static bool put_value(uint8_t data[8], unsigned ddi, uint32_t value)
{
    data[0] = 0x13; /* value, element 1 */
    data[1] = 0;
    data[2] = (uint8_t)ddi;
    data[3] = (uint8_t)(ddi >> 8);
    for (int i = 0; i < 4; i++)
        data[4 + i] = (uint8_t)(value >> 8 * i);
    return true;
}

static bool fill_rate(double t, uint8_t data[8], void *context)
{
    const struct jam *jam = context;
    bool jammed = t >= jam->from && fmod(t - jam->from, jam->every) < jam->to;

    return put_value(data, 7, drive_field(t) > 0.3 && !jammed ? 18000 : 0);
}

static bool fill_state(double t, uint8_t data[8], void *context)
{
    (void)context;
    return put_value(data, 141, t > 6);
}

/* The client, its controller with a set-point of 180 kg/ha, and no source of speed. */
static struct story *client(struct jam *jam)
{
    struct story *s = story_new();
    uint32_t value = story_id(3, VALUE, 247, 128);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_beat(s, story_id(3, VALUE, 255, 247), 2.0, 1, 90, "FEFFFFFF01FFFFFF");
    story_beat(s, story_id(3, VALUE, 128, 247), 5.0, 3, 90, "1300060050460000");
    story_every(s, value, 1.0, 3.0, 90, fill_state, NULL);
    story_every(s, value, 1.0, 3.4, 90, fill_rate, jam);
    return s;
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

static const struct dbr_finding *rate_of(const struct outcome *o)
{
    const struct dbr_finding *f = outcome_finding(o, "rate-missing", 128);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    return f;
}

/* The receiver whose loss goes along with it, of three; the wheel's speed goes on. */
Test(diagnosis_work_words, a_guess_at_the_speed_that_it_follows)
{
    static const double ends[][3] = {{60, 66, 62}, {66, 60, 62}, {60, 62, 66}};

    for (size_t i = 0; i < 3; i++) {
        struct jam jam = {66, 99, 999};
        struct story *s = client(&jam);
        char words[80];
        size_t best = ends[i][0] > 65 ? 0 : ends[i][1] > 65 ? 1 : 2;
        story_ground(s, 240, drive_field, 1.0, 0, 90);
        for (size_t k = 0; k < 3; k++)
            story_gnss(s, (uint8_t)(60 + k), drive_field, 1.0, 0, ends[i][k]);
        struct outcome *o = story_tell(s);
        snprintf(words, sizeof words, "a guess: its rate comes and goes with GNSS speed from "
                                      "address %zu", 60 + best);
        cr_expect(says(rate_of(o), words), "%zu: %s", i, outcome_codes(o));
        cr_expect(says(rate_of(o), "speed that would serve: ground-based speed from tractor ECU"));
        outcome_free(o);
    }
}

/* Too short to tell which of them it follows: no guess. */
Test(diagnosis_work_words, no_guess_where_all_speeds_agree)
{
    struct jam jam = {60, 6, 999};
    struct story *s = client(&jam);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(says(rate_of(o), "a guess"));
    outcome_free(o);
}

/* Its own speed, and no other. */
Test(diagnosis_work_words, no_other_speed_would_serve)
{
    struct jam jam = {60, 99, 999};
    struct story *s = client(&jam);
    story_axle(s, 128, drive_field, 1.0, 0, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(says(rate_of(o), "would serve"));
    outcome_free(o);
}

Test(diagnosis_work_words, more_times_than_are_told)
{
    struct jam jam = {15, 7, 12};
    struct story *s = client(&jam);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = rate_of(o);
    size_t told = 0;

    for (size_t i = 0; i < f->evidence.count; i++)
        told += strstr(f->evidence.items[i], "and no rate from") != NULL;
    cr_expect_gt(f->count, 4);
    cr_expect_eq(told, 4);
    outcome_free(o);
}

/* Acknowledgement of process data (command D): byte 5 has a bit for each reason, FF none. */
Test(diagnosis_work_words, what_the_implement_refused)
{
    static const struct {
        const char *reasons[2];
        const char *words;
    } rows[] = {
        {{"00", "00"}, NULL},
        {{"FF", "FF"}, "it refused 2 commands of the controller"},
        {{"14", "FF"}, "it refused 2 commands of the controller: element does not have this value, "
                       "value cannot be set"},
        {{"03", "80"}, "it refused 2 commands of the controller: command not supported, no such "
                       "element, value beyond the range"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct jam jam = {60, 99, 999};
        struct story *s = client(&jam);
        char hex[17];
        story_ground(s, 240, drive_field, 1.0, 0, 90);
        for (int k = 0; k < 2; k++) {
            snprintf(hex, sizeof hex, "1D000600%sFFFFFF", rows[i].reasons[k]);
            story_frame(s, 50 + k, story_id(3, VALUE, 247, 128), hex);
        }
        struct outcome *o = story_tell(s);
        cr_expect(!rows[i].words || says(rate_of(o), rows[i].words), "row %zu", i);
        cr_expect_eq(says(rate_of(o), "it refused"), rows[i].words != NULL, "row %zu", i);
        if (i == 1)
            cr_expect_not(says(rate_of(o), "controller:"), "no reason was given");
        outcome_free(o);
    }
}

/* Rear PTO, 65091: engagement in bits 7-8 of byte 5 (SPN 2408). */
Test(diagnosis_work_words, whether_the_pto_was_on)
{
    static const struct {
        const char *hex, *words;
    } rows[] = {{"FFFFFFFF7FFFFFFF", NULL},
                {"FFFFFFFF3FFFFFFF", "the drive (PTO) was not engaged meanwhile"},
                {"FFFFFFFFFFFFFFFF", "no PTO reported itself engaged meanwhile"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct jam jam = {60, 99, 999};
        struct story *s = client(&jam);
        story_ground(s, 240, drive_field, 1.0, 0, 90);
        story_beat(s, story_id(3, 65091, 255, 240), 0.1, 0, 90, rows[i].hex);
        struct outcome *o = story_tell(s);
        cr_expect_eq(says(rate_of(o), "meanwhile"), rows[i].words != NULL, "row %zu", i);
        cr_expect(!rows[i].words || says(rate_of(o), rows[i].words), "row %zu", i);
        outcome_free(o);
    }
}

/* The key, byte 8 bits 3-4 of 65096 (SPN 1865), is turned off at a time, or never. */
static struct outcome *switched(double status_to, double again, double key_off)
{
    struct story *s = story_new();
    uint32_t wheel = story_id(3, 65096, 255, 240), status = story_id(3, VALUE, 255, 247);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_beat(s, story_id(3, VALUE, 247, 128), 2.0, 2.0, 90, "FFFFFFFF00000000");
    story_beat(s, status, 2.0, 1, status_to, "FEFFFFFF01FFFFFF");
    story_beat(s, status, 2.0, again, 90, "FEFFFFFF01FFFFFF");
    story_beat(s, wheel, 0.1, 0, key_off, "000000000000FFF5");
    story_beat(s, wheel, 0.1, key_off, 90, "000000000000FFF1");
    return story_tell(s);
}

Test(diagnosis_work_words, a_controller_ends_with_the_key)
{
    static const struct {
        const char *what;
        double status_to, again, key_off;
        bool lost;
    } rows[] = {
        {"with the key", 60, 99, 60.5, false},
        {"long before the key", 30, 99, 60.5, true},
        {"no key was turned", 60, 99, 99, true},
        {"it came back after the key", 60, 75, 60.5, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = switched(rows[i].status_to, rows[i].again, rows[i].key_off);
        cr_expect_eq(outcome_has(o, "controller-lost", 247), rows[i].lost, "%s: %s", rows[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}
