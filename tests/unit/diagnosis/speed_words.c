/* speed_words.c - speeds that are not available: with the key off, time and again, never there. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

#define NOT_AVAILABLE "FFFFFFFFFFFFFFFF"

static size_t times_said(const struct dbr_finding *f, const char *words)
{
    size_t count = 0;

    for (size_t i = 0; f && i < f->evidence.count; i++)
        count += strstr(f->evidence.items[i], words) != NULL;
    return count;
}

/* Ground speed (65097) of 241 that has a value but for some time; the key, byte 8 bits 3-4 of
 * 65096 (SPN 1865), is turned off at 60 s, or never. */
static struct outcome *without(double from, double to, bool key_off)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 0, 60, "000000000000FFF5");
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 60, 90,
               key_off ? "000000000000FFF1" : "000000000000FFF5");
    story_ground(s, 241, drive_stand, 1.0, 0, from);
    story_beat(s, story_id(3, 65097, 255, 241), 0.1, from, to, NOT_AVAILABLE);
    story_ground(s, 241, drive_stand, 1.0, to, 90);
    return story_tell(s);
}

Test(diagnosis_speed_words, no_value_once_the_key_is_off)
{
    static const struct {
        const char *what;
        double from, to;
        bool key_off, expected;
    } rows[] = {
        {"after the key", 62, 90, true, false},
        {"before the key", 40, 90, true, true},
        {"no key was turned", 62, 90, false, true},
        {"it came back with the key off", 62, 75, true, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = without(rows[i].from, rows[i].to, rows[i].key_off);
        cr_expect_eq(outcome_has(o, "speed-not-available", 241), rows[i].expected, "%s: %s",
                     rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* Four times are told one by one, the others counted. */
Test(diagnosis_speed_words, time_and_again_without_a_value)
{
    struct story *s = story_new();
    story_background(s, 0, 90);
    for (int i = 0; i < 6; i++) {
        story_ground(s, 241, drive_stand, 1.0, 15 * i, 15 * i + 8);
        story_beat(s, story_id(3, 65097, 255, 241), 0.1, 15 * i + 8, 15 * i + 15, NOT_AVAILABLE);
    }
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-not-available", 241);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(f->count, 6);
    cr_expect_eq(times_said(f, "not available from"), 4);
    cr_expect_eq(times_said(f, "and 2 times more"), 1);
    outcome_free(o);
}

/* What never had a value is not missed when it ends. */
Test(diagnosis_speed_words, a_source_that_never_had_a_value_is_not_lost)
{
    for (int valued = 0; valued < 2; valued++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_beat(s, story_id(6, 65301, 255, 241), 0.1, 0, 60, "0000000000000000");
        if (valued)
            story_ground(s, 241, drive_stand, 1.0, 0, 10);
        story_beat(s, story_id(3, 65097, 255, 241), 0.1, valued ? 10 : 0, 30, NOT_AVAILABLE);
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "speed-lost", 241), valued, "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/* Each source has a name of its own kind. */
Test(diagnosis_speed_words, what_each_source_is_called)
{
    static const struct {
        uint32_t id;
        const char *hex, *words;
    } rows[] = {
        {0x18FEF100, "FFFFFFFFFFFFFFFF", "wheel-based vehicle speed from"}, /* 65265 */
        {0x0CF022F0, "FFFFFFFFFFFFFFFF", "machine selected speed from"},    /* 61474 */
        {0x18FEE81C, "FFFFFFFFFFFFFFFF", "navigation-based speed from"},    /* 65256 */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_beat(s, rows[i].id, 0.1, 0, 60, rows[i].hex);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-not-available", -1);
        cr_assert_not_null(f, "row %zu: %s", i, outcome_codes(o));
        cr_expect_eq(strncmp(f->title, rows[i].words, strlen(rows[i].words)), 0, "%s", f->title);
        outcome_free(o);
    }
}

/* From when the first value is not there on: before the first one that came nothing was lost. */
Test(diagnosis_speed_words, before_its_first_value_a_source_is_not_valid_yet)
{
    static const struct {
        const char *what;
        double value_from, value_to; /* it has values, until 40 s and from 45 s on */
        int severity;
        double start_s;
    } rows[] = {
        {"woken up", 20, 45, DBR_NOTE, 0},
        {"it had a value once", 20, 40, DBR_FAULT, 40},
        {"never", 90, 90, DBR_NOTE, 0},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        double back = rows[i].value_from < 45 ? 45 : 90;
        story_background(s, 0, 90);
        story_beat(s, story_id(3, 65097, 255, 241), 0.1, 0, rows[i].value_from, NOT_AVAILABLE);
        story_ground(s, 241, drive_stand, 1.0, rows[i].value_from, rows[i].value_to);
        story_beat(s, story_id(3, 65097, 255, 241), 0.1, rows[i].value_to, back, NOT_AVAILABLE);
        story_ground(s, 241, drive_stand, 1.0, back, 90);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-not-available", 241);
        cr_assert_not_null(f, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq((int)f->severity, rows[i].severity, "%s", rows[i].what);
        cr_expect_float_eq((double)f->start_ns / 1e9, rows[i].start_s, 0.2, "%s", rows[i].what);
        cr_expect_eq(strstr(f->title, "had been valid") != NULL, f->severity == DBR_FAULT);
        outcome_free(o);
    }
}
