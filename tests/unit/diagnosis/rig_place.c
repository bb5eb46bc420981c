/* rig_place.c - what a rig adds to a recording: where on the cable a silence is, and what is
 * missing. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/rigged.h"
#include "support/story.h"

#define CUT 30.0

/* Along the cable: tractor 240, 241; frame 128, 129; booms 140, 141. */
static struct dbr_rig *rig_with(const char *more)
{
    static const char cable[] =
        "{\"schema\": \"drawbar-rig/1\", \"name\": \"spreader\", \"sections\": ["
        " {\"name\": \"tractor\", \"ecus\": [{\"label\": \"a\", \"address\": 240},"
        "                                    {\"label\": \"b\", \"address\": 241}]},"
        " {\"name\": \"frame\", \"ecus\": [{\"label\": \"c\", \"address\": 128},"
        "                                  {\"label\": \"d\", \"address\": 129}]},"
        " {\"name\": \"booms\", \"ecus\": [{\"label\": \"e\", \"address\": 140},"
        "                                  {\"label\": \"f\", \"address\": 141}]}]";
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX], text[1024];

    snprintf(text, sizeof text, "%s%s}", cable, more);
    struct dbr_rig *rig = rig_of_text(text, path, &error);
    cr_assert_not_null(rig, "%s", error.text);
    return rig;
}

static void beat(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, story_id(6, 65300, 255, address), 0.1, from, to, "0000000000000000");
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

Test(diagnosis_rig_place, between_which_sections_a_harness_fails)
{
    static const uint8_t all[] = {240, 241, 128, 129, 140, 141, 70, 71}; /* 70, 71: in no rig */
    static const struct {
        const char *recorder; /* further members of the rig */
        const char *silent;   /* a letter for each of `all` */
        const char *section, *words;
    } rows[] = {
        {", \"recorder_in\": \"tractor\"", "....xx..", "booms",
         "between \"frame\" (lives) and \"booms\" (silent)"},
        {", \"recorder_in\": \"tractor\"", "..xxxx..", "frame",
         "between \"tractor\" (lives) and \"frame\" (silent)"},
        {", \"recorder_in\": \"tractor\"", "...xx...", "frame",
         "in section \"frame\" others live on"},
        {", \"recorder_in\": \"booms\"", "xxxx....", "frame",
         "between \"booms\" (lives) and \"frame\" (silent)"},
        {", \"recorder_in\": \"frame\"", "xx......", "tractor",
         "between \"frame\" (lives) and \"tractor\" (silent)"},
        {", \"recorder_in\": \"frame\"", "xx..xx..", "tractor",
         "between \"frame\" (lives) and \"tractor\" (silent)"},
        {", \"recorder_in\": \"frame\"", "..xxxx..", "frame",
         "between \"tractor\" (lives) and \"frame\" (silent)"},
        {"", "....xx..", "booms", "between \"frame\" (lives) and \"booms\" (silent)"},
        {"", "xxxxxx..", "tractor", "section \"tractor\" is silent as a whole"},
        {"", "......xx", NULL, NULL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_rig *rig = rig_with(rows[i].recorder);
        struct story *s = story_new();
        story_rig(s, rig);
        story_background(s, 0, 60);
        for (size_t k = 0; k < sizeof all; k++)
            beat(s, all[k], 0, rows[i].silent[k] == 'x' ? CUT : 60);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "harness-section-silent", -1);
        cr_assert_not_null(f, "row %zu: %s", i, outcome_codes(o));
        cr_expect_eq(f->section != NULL, rows[i].section != NULL, "row %zu", i);
        cr_expect(!f->section || strcmp(f->section, rows[i].section) == 0, "row %zu: %s", i,
                  f->section);
        cr_expect(!rows[i].words || says(f, rows[i].words), "row %zu", i);
        outcome_free(o);
        dbr_rig_free(rig);
    }
}

/* Who was not there at that moment, or is of another bus, is no sign of life. */
Test(diagnosis_rig_place, who_counts_as_living)
{
    for (int how = 0; how < 3; how++) {
        struct dbr_rig *rig = rig_with(", \"recorder_in\": \"tractor\"");
        struct story *s = story_new();
        story_rig(s, rig);
        story_background(s, 0, 60);
        beat(s, 240, 0, 60);
        beat(s, 140, 0, CUT);
        beat(s, 141, 0, CUT);
        if (how == 1)
            beat(s, 128, CUT + 10, 60); /* it came later */
        story_on(s, how == 2);
        if (how != 1)
            beat(s, 128, 0, 60);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "harness-section-silent", -1);
        cr_assert_not_null(f, "%d: %s", how, outcome_codes(o));
        cr_expect(says(f, how == 0 ? "between \"frame\" (lives)" : "between \"tractor\" (lives)"),
                  "%d", how);
        outcome_free(o);
        dbr_rig_free(rig);
    }
}

static struct outcome *two_absent(struct dbr_rig *rig, bool timed)
{
    struct story *s = story_new();
    static const uint8_t there[] = {240, 241, 128, 129, 141};

    story_rig(s, rig);
    story_background(s, 0, 30);
    for (size_t i = 0; i < sizeof there; i++)
        beat(s, there[i], 0, 30);
    return timed ? story_tell(s) : story_tell_untimed(s);
}

/* Missing is a fault, all the time that was recorded; what may be absent is a note. */
Test(diagnosis_rig_place, what_the_rig_has_and_nobody_heard)
{
    for (int k = 0; k < 4; k++) {
        bool optional = k & 1, timed = k & 2;
        struct dbr_rig *rig = rig_with("");
        rig->ecus[4].optional = optional; /* 140 */
        struct outcome *o = two_absent(rig, timed);
        const struct dbr_finding *f = outcome_finding(o, "ecu-missing", 140);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect_eq(f->severity, optional ? DBR_NOTE : DBR_FAULT);
        cr_expect_eq(strstr(f->title, "optional") != NULL, optional);
        cr_expect_str_eq(f->section, "booms");
        cr_expect_eq(f->timed, timed);
        cr_expect_not(outcome_has(o, "ecu-missing", 141));
        outcome_free(o);
        dbr_rig_free(rig);
    }
}

/* A speed that the rig names and nobody sends, beside those that are there. */
Test(diagnosis_rig_place, a_speed_that_the_rig_expects)
{
    for (int timed = 0; timed < 2; timed++) {
        struct dbr_rig *rig = rig_with(", \"expects\": {\"speed\": [\"wheel\", \"selected\"]}");
        struct story *s = story_new();
        story_rig(s, rig);
        story_background(s, 0, 60);
        story_wheel(s, 240, drive_field, 1.0, 1, 60);
        story_beat(s, story_id(2, 129026, 255, 28), 0.25, 0, 60, "00FCFFFFFFFFFFFF");
        struct outcome *o = timed ? story_tell(s) : story_tell_untimed(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-missing", -1);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect(strstr(f->title, "selected speed that the rig expects"), "%s", f->title);
        cr_expect_eq(f->timed, timed);
        cr_expect(says(f, "wheel-based speed from"));
        cr_expect_not(says(f, "GNSS"), "it never had a value: nothing to compare with");
        outcome_free(o);
        dbr_rig_free(rig);
    }
}

/* A source that never has a value is usual, unless the rig expects it. */
Test(diagnosis_rig_place, a_source_without_a_value_is_a_fault_where_it_is_expected)
{
    for (int expected = 0; expected < 2; expected++) {
        struct dbr_rig *rig = rig_with(expected ? ", \"expects\": {\"speed\": [\"gnss\"]}" : "");
        struct story *s = story_new();
        story_rig(s, rig);
        story_background(s, 0, 60);
        story_beat(s, story_id(2, 129026, 255, 28), 0.25, 0, 60, "00FCFFFFFFFFFFFF");
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-not-available", 28);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect_eq(f->severity, expected ? DBR_FAULT : DBR_NOTE);
        outcome_free(o);
        dbr_rig_free(rig);
    }
}
