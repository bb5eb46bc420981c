/*
 * codes_words.c - what stands beside a trouble code, and the codes that are named beside a dead
 * speed because they may be about it.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "support/story.h"

#define CODE "fault-code-active"

static uint32_t dm1(uint8_t address)
{
    return story_id(6, DBR_PGN_DM1, 255, address);
}

/* A list with one code, once a second: amber lamp. */
static void tell_code(struct story *s, uint8_t address, double from, double to, unsigned spn,
                      unsigned fmi)
{
    char hex[17];

    snprintf(hex, sizeof hex, "04FF%02X%02X%02X01FFFF", spn & 0xFF, spn >> 8 & 0xFF,
             (spn >> 16) << 5 | fmi);
    story_beat(s, dm1(address), 1.0, from, to, hex);
}

static size_t times_said(const struct dbr_finding *f, const char *words)
{
    size_t count = 0;

    for (size_t i = 0; f && i < f->evidence.count; i++)
        count += strstr(f->evidence.items[i], words) != NULL;
    return count;
}

#define MAKER 520201u /* 520192 and up are the maker's own (SAE J1939-73) */
#define HINT "meanwhile this ECU reports SPN 52020"

/* Between 30 s and 50 s the wheel's speed reads zero. */
static bool fill_dead(double t, uint8_t data[8], void *context)
{
    unsigned speed = t >= 30 && t < 50 ? 0 : (unsigned)(drive_field(t) * 1000);

    (void)context;
    memset(data, 0xFF, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    return true;
}

static struct story *dead_for_a_while(void)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_every(s, story_id(3, 65096, 255, 240), 0.1, 0, 90, fill_dead, NULL);
    story_ground(s, 241, drive_field, 1.0, 1, 90);
    story_gnss(s, 28, drive_field, 1.0, 1, 90);
    return s;
}

/* An electrical code of the same ECU, at the same time, that only its maker can read. */
Test(diagnosis_codes_words, a_code_that_may_be_about_a_dead_speed)
{
    static const struct {
        const char *what;
        uint8_t address;
        double from, to;
        unsigned spn, fmi;
        bool hint;
    } rows[] = {
        {"it comes with it", 240, 31, 45, MAKER, 5, true},
        {"it lasts", 240, 45, 90, MAKER, 5, true},
        {"it was there before", 240, 2, 90, MAKER, 4, true},
        {"it is gone before", 240, 2, 20, MAKER, 5, false},
        {"it comes afterwards", 240, 60, 90, MAKER, 5, false},
        {"of another ECU", 241, 31, 45, MAKER, 5, false},
        {"not electrical", 240, 31, 45, MAKER, 7, false},
        {"everybody knows what it is", 240, 31, 45, 1873, 5, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = dead_for_a_while();
        story_beat(s, dm1(rows[i].address), 1.0, 0, rows[i].from, "00FF00000000FFFF");
        tell_code(s, rows[i].address, rows[i].from, rows[i].to, rows[i].spn, rows[i].fmi);
        story_beat(s, dm1(rows[i].address), 1.0, rows[i].to, 90, "00FF00000000FFFF");
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-stuck-zero", 240);
        cr_assert_not_null(f, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(times_said(f, HINT), rows[i].hint, "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* The same address on another bus is another ECU. */
Test(diagnosis_codes_words, a_code_on_another_bus_is_no_hint)
{
    struct story *s = dead_for_a_while();
    story_on(s, 1);
    story_background(s, 0, 90);
    tell_code(s, 240, 0, 90, MAKER, 5);
    struct outcome *o = story_tell(s);

    cr_expect_eq(times_said(outcome_finding(o, "speed-stuck-zero", 240), HINT), 0);
    outcome_free(o);
}

/* One after the other: three are enough to look up. */
Test(diagnosis_codes_words, no_more_than_three_hints)
{
    struct story *s = dead_for_a_while();
    for (unsigned i = 0; i < 5; i++)
        tell_code(s, 240, 30 + 3 * i, 33 + 3 * i, MAKER + i, 5);
    struct outcome *o = story_tell(s);

    cr_expect_eq(times_said(outcome_finding(o, "speed-stuck-zero", 240), HINT), 3, "%s",
                 outcome_codes(o));
    outcome_free(o);
}

/* Requests to clear it (DM11; DM22 for one code), by a tool at 249: the first three are told. */
Test(diagnosis_codes_words, no_more_than_three_requests_to_clear_it)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    tell_code(s, 140, 0, 60, 100, 4);
    for (int i = 0; i < 5; i++)
        story_frame(s, 10 + 5 * i, story_id(6, 59904, 140, 249), "D3FE00");
    struct outcome *o = story_tell(s);

    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "to be cleared"), 3);
    outcome_free(o);
}

/* One that is no longer active is another matter; and so is another bus. */
Test(diagnosis_codes_words, requests_that_are_about_something_else)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    tell_code(s, 140, 0, 60, 100, 4);
    story_frame(s, 10, story_id(6, DBR_PGN_DM22, 140, 249), "01FFFFFFFF640004");
    story_on(s, 1);
    story_background(s, 0, 60);
    story_frame(s, 20, story_id(6, 59904, 140, 249), "D3FE00");
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->troubles.clear_count, 2);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "to be cleared"), 0);
    outcome_free(o);
}

/* SPN 2000 + address: an ECU that is there is said to be, with its times where there are any. */
Test(diagnosis_codes_words, a_code_about_an_ecu_that_is_there)
{
    for (int timed = 0; timed < 2; timed++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        story_wheel(s, 240, drive_stand, 1.0, 0, 30);
        tell_code(s, 140, 0, 30, 2240, 9);
        struct outcome *o = timed ? story_tell(s) : story_tell_untimed(s);
        const struct dbr_finding *f = outcome_finding(o, CODE, 140);
        cr_assert_not_null(f);
        cr_expect_eq(times_said(f, "(240) is in this recording, heard from 0."),
                     timed ? 1 : 0);
        cr_expect_eq(times_said(f, "nothing from address"), 0);
        outcome_free(o);
    }
}

/* 127 stands for a count that is not known (SAE J1939-73 5.7.1). */
Test(diagnosis_codes_words, a_count_that_was_not_known_at_first)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_beat(s, dm1(140), 1.0, 0, 15, "04FF6400047FFFFF");
    story_beat(s, dm1(140), 1.0, 15, 30, "04FF64000403FFFF");
    struct outcome *o = story_tell(s);

    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "occurrence count 3"), 1);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "at first"), 0);
    outcome_free(o);
}
