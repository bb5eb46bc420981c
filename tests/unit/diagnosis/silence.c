/* silence.c - which silences belong together, what they say of the harness, and which were asked
 * for or come with the key. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

static void beat(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, story_id(6, 65300, 255, address), 0.1, from, to, zeros);
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

static size_t sections(const struct outcome *o)
{
    size_t count = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        count += strcmp(o->diagnosis->findings[i].code, "harness-section-silent") == 0;
    return count;
}

static const struct dbr_finding *section_of(const struct outcome *o)
{
    const struct dbr_finding *f = outcome_finding(o, "harness-section-silent", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    return f;
}

/* However many hang on one plug: one cause, and each silence follows from it. */
Test(diagnosis_silence, twenty_on_one_plug_are_one_cause)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    for (uint8_t a = 20; a < 50; a++)
        beat(s, a, 0, 60);
    for (uint8_t a = 140; a < 160; a++) {
        beat(s, a, 0, 30);
        beat(s, a, 40, 60);
    }
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = section_of(o);

    cr_expect(strstr(f->title, "20 ECUs fell silent together"), "%s", f->title);
    cr_expect_eq(f->address_count, 20);
    for (uint8_t a = 140; a < 160; a++)
        cr_expect(outcome_because(o, outcome_finding(o, "ecu-silent", a), f), "%u", a);
    cr_expect_eq(o->diagnosis->verdict.root_cause_count, 1, "%s", outcome_codes(o));
    cr_expect(says(f, "and 12 more of them"));
    cr_expect(says(f, "rather the bus lines"), "how they came back is not left out");
    outcome_free(o);
}

/* Two on each of two buses: a plug has wires of one bus. */
Test(diagnosis_silence, each_bus_has_its_own_sections)
{
    struct story *s = story_new();
    for (uint8_t bus = 0; bus < 2; bus++) {
        story_on(s, bus);
        story_background(s, 0, 60);
        beat(s, 150, 0, 60);
        beat(s, 140, 0, 30);
        beat(s, 141, 0, 30);
    }
    struct outcome *o = story_tell(s);

    cr_assert_eq(sections(o), 2, "%s", outcome_codes(o));
    cr_expect(strstr(section_of(o)->title, "2 ECUs"), "%s", section_of(o)->title);
    outcome_free(o);
}

/* One on each bus at the same moment are two that fell silent, and no section. */
Test(diagnosis_silence, one_on_each_bus_share_no_plug)
{
    struct story *s = story_new();
    for (uint8_t bus = 0; bus < 2; bus++) {
        story_on(s, bus);
        story_background(s, 0, 60);
        beat(s, 150, 0, 60);
        beat(s, 140, 0, 30);
    }
    struct outcome *o = story_tell(s);

    cr_expect_eq(sections(o), 0, "%s", outcome_codes(o));
    cr_expect(outcome_has(o, "ecu-silent", 140));
    outcome_free(o);
}

/* The same two again are the same section; with a third, or others, it is another one. */
Test(diagnosis_silence, the_same_section_again)
{
    static const struct {
        uint8_t again[3];
        size_t count, sections;
    } rows[] = {{{140, 141}, 2, 1}, {{140, 141, 142}, 3, 2}, {{140, 142}, 2, 2}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 90);
        beat(s, 150, 0, 90);
        for (uint8_t a = 140; a < 143; a++) {
            bool first = a < 142, second = memchr(rows[i].again, a, rows[i].count) != NULL;
            beat(s, a, 0, first ? 20 : 50);
            beat(s, a, 30, first ? 50 : 31);
            beat(s, a, second ? 60 : 50, 90);
        }
        struct outcome *o = story_tell(s);
        cr_expect_eq(sections(o), rows[i].sections, "row %zu: %s", i, outcome_codes(o));
        cr_expect_eq(says(section_of(o), "once more from"), rows[i].sections == 1, "row %zu", i);
        outcome_free(o);
    }
}

/* Error frames as they fell silent: from a second before it until they are missed. */
Test(diagnosis_silence, error_frames_at_its_beginning)
{
    static const struct {
        double at;
        bool touched;
    } rows[] = {{29.2, true}, {29.99, true}, {27, false}, {32, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        beat(s, 150, 0, 60);
        beat(s, 140, 0, 30);
        beat(s, 141, 0, 30);
        story_error(s, rows[i].at, 0x88, "0000040000000000");
        struct outcome *o = story_tell(s);
        cr_expect_eq(says(section_of(o), "the bus lines were touched"), rows[i].touched,
                     "row %zu", i);
        outcome_free(o);
    }
}

/* One of two claims again: neither the supply of both nor the lines of both. */
Test(diagnosis_silence, a_return_that_says_nothing)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    beat(s, 150, 0, 60);
    for (uint8_t a = 140; a < 142; a++) {
        story_claim(s, 0.1, a, NAME_SPREADER + a);
        beat(s, a, 0.5, 30);
        if (a == 140)
            story_claim(s, 38.0, a, NAME_SPREADER + a);
        beat(s, a, 38.3, 60);
    }
    struct outcome *o = story_tell(s);

    cr_expect_not(says(section_of(o), "rather the"));
    outcome_free(o);
}

/* 140 is silent for a while, and once more at the end; DM13 asks for silence from 20 s to 40 s, or
 * until the end; the key (65096 byte 8 bits 3-4, SPN 1865) is turned off at 75 s, or never. */
struct hush {
    double from, to, again;
    uint8_t by, bus; /* who asks; 0: nobody does */
    bool lasts, key_off;
};

static struct outcome *hush(const struct hush *h)
{
    struct story *s = story_new();
    uint32_t stop = story_id(6, DBR_PGN_DM13, 255, h->by), wheel = story_id(3, 65096, 255, 240);
    double to = h->lasts ? 90 : 40;

    story_background(s, 0, 90);
    beat(s, 140, 0, h->from);
    beat(s, 140, h->to, h->again);
    story_beat(s, wheel, 0.1, 0, 75, "000000000000FFF5");
    story_beat(s, wheel, 0.1, 75, 80, h->key_off ? "000000000000FFF1" : "000000000000FFF5");
    story_on(s, h->bus);
    if (h->bus)
        story_background(s, 0, 90);
    if (h->by)
        story_frame(s, 20, stop, "3FFFFFFFFFFFFFFF");
    for (double t = 25; h->by && t < to; t += 5)
        story_frame(s, t, stop, "FFFFFF0FFFFFFFFF");
    if (h->by && !h->lasts)
        story_frame(s, 40, stop, "7FFFFFFFFFFFFFFF");
    return story_tell(s);
}

/* What was asked for, or comes with the key, is no fault; all else is. */
Test(diagnosis_silence, asked_for_or_with_the_key)
{
    static const struct {
        const char *what;
        struct hush hush;
        int severity; /* -1: no finding */
    } rows[] = {
        {"as it was told", {20, 40.5, 99, 249, 0, false, false}, DBR_NOTE},
        {"to the end, as it was told", {20, 99, 99, 249, 0, true, false}, DBR_NOTE},
        {"nobody told it", {20, 40.5, 99, 0, 0, false, false}, DBR_FAULT},
        {"on another bus it was told", {20, 40.5, 99, 249, 1, false, false}, DBR_FAULT},
        {"it told the others itself", {20, 40.5, 99, 140, 0, false, false}, DBR_FAULT},
        {"before it was told", {10, 40.5, 99, 249, 0, false, false}, DBR_FAULT},
        {"long after it was told", {60, 70, 99, 249, 0, false, false}, DBR_FAULT},
        {"once more, and nobody told it", {20, 40.5, 60, 249, 0, false, false}, DBR_FAULT},
        {"once more, with the key", {20, 40.5, 76, 249, 0, false, true}, DBR_NOTE},
        {"with the key", {76, 99, 99, 0, 0, false, true}, -1},
        {"long before the key", {50, 99, 99, 0, 0, false, true}, DBR_FAULT},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = hush(&rows[i].hush);
        const struct dbr_finding *f = outcome_finding(o, "ecu-silent", 140);
        cr_expect_eq(f ? (int)f->severity : -1, rows[i].severity, "%s: %s", rows[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_silence, many_silences_and_slow_supply_are_told_in_part)
{
    struct story *s = story_new();
    story_background(s, 0, 120);
    beat(s, 150, 0, 120);
    for (int i = 0; i < 6; i++) {
        beat(s, 140, 20 * i, 20 * i + 10);
        story_beat(s, story_id(6, 65271, 255, 240), 0.5, 20 * i, 20 * i + 10, "FFFFFFFFC800FFFF");
        story_beat(s, story_id(6, 65271, 255, 240), 0.5, 20 * i + 10, 20 * i + 20,
                   "FFFFFFFF1C01FFFF");
    }
    struct outcome *o = story_tell(s);
    const struct dbr_finding *silent = outcome_finding(o, "ecu-silent", 140);
    const struct dbr_finding *low = outcome_finding(o, "supply-low", 240);
    size_t told[2] = {0};

    cr_assert(silent && low, "%s", outcome_codes(o));
    for (size_t i = 0; i < silent->evidence.count; i++)
        told[0] += strncmp(silent->evidence.items[i], "silent from", 11) == 0;
    for (size_t i = 0; i < low->evidence.count; i++)
        told[1] += strncmp(low->evidence.items[i], "below 11.0 V", 12) == 0;
    cr_expect_gt(silent->count, 4);
    cr_expect_eq(told[0], 4);
    cr_expect_eq(low->count, 6);
    cr_expect_eq(told[1], 4);
    outcome_free(o);
}
