/* agreement_words.c - what is said of speeds that differ: slip, calibration, and how sure it is. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/story.h"

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

/* A driven wheel that runs ahead by up to 15 % slips; by more it does not, and behind never. */
Test(diagnosis_agreement_words, slip_or_calibration)
{
    static const struct {
        double scale;
        enum dbr_severity severity;
        bool slip, beyond, calibration;
    } rows[] = {{1.10, DBR_NOTE, true, false, false},
                {1.25, DBR_FAULT, false, true, true},
                {0.90, DBR_WARNING, false, false, true}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 90);
        story_wheel(s, 240, drive_field, rows[i].scale, 1, 90);
        story_ground(s, 241, drive_field, 1.0, 1, 90);
        story_gnss(s, 28, drive_field, 1.0, 1, 90);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "speed-disagrees", 240);
        cr_assert_not_null(f, "%g: %s", rows[i].scale, outcome_codes(o));
        cr_expect_eq(f->severity, rows[i].severity, "%g", rows[i].scale);
        cr_expect_eq(says(f, "is usual for best power transfer"), rows[i].slip);
        cr_expect_eq(says(f, "more than slip explains"), rows[i].beyond);
        cr_expect_eq(says(f, "if it is the calibration"), rows[i].calibration);
        outcome_free(o);
    }
}

/* Only a driven wheel to compare with: its slip is unknown, and no third one confirms it. */
Test(diagnosis_agreement_words, the_reference_is_a_driven_wheel)
{
    struct story *s = story_new();
    story_background(s, 0, 90);
    story_wheel(s, 240, drive_field, 1.0, 1, 90);
    story_wheel(s, 241, drive_field, 0.8, 1, 90);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-disagrees", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(f->severity, DBR_WARNING);
    cr_expect(says(f, "the comparison is with a driven wheel"));
    cr_expect(says(f, "no third ECU confirms either"));
    outcome_free(o);
}

/* Twenty seconds of motion are compared (contract); less says nothing. */
Test(diagnosis_agreement_words, too_short_to_compare)
{
    for (int enough = 0; enough < 2; enough++) {
        struct story *s = story_new();
        double to = enough ? 40 : 20;
        story_background(s, 0, to);
        story_axle(s, 128, drive_field, 0.8, 1, to);
        story_ground(s, 241, drive_field, 1.0, 1, to);
        story_gnss(s, 28, drive_field, 1.0, 1, to);
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "speed-disagrees", 128), enough, "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/* Machine selected speed (61474): its source in bits 3-5 of byte 8 (SPN 4308), a new one every so
 * many seconds. */
struct selection {
    double period;
    uint8_t first, second;
};

static bool fill_selected(double t, uint8_t data[8], void *context)
{
    const struct selection *c = context;
    unsigned speed = (unsigned)lround(drive_field(t) * 1000);
    uint8_t source = fmod(t, 2 * c->period) < c->period ? c->first : c->second;

    memset(data, 0xFF, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    data[7] = (uint8_t)(0xE1 | source << 2);
    return true;
}

static struct outcome *selected(struct selection selection)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_every(s, story_id(3, 61474, 255, 240), 0.1, 0, 90, fill_selected, &selection);
    return story_tell(s);
}

Test(diagnosis_agreement_words, what_the_selected_speed_comes_from)
{
    static const struct {
        uint8_t to;
        const char *words;
    } rows[] = {{1, "ground"}, {2, "navigation"}, {3, "blended"}, {4, "simulated"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = selected((struct selection){50, 0, rows[i].to});
        const struct dbr_finding *f = outcome_finding(o, "speed-source-changed", 240);
        char words[64];
        cr_assert_not_null(f, "%s", outcome_codes(o));
        snprintf(words, sizeof words, "now comes from %s, before from wheel", rows[i].words);
        cr_expect(strstr(f->title, words), "%s", f->title);
        cr_expect(strstr(f->title, "machine selected speed"), "%s", f->title);
        outcome_free(o);
    }
}

/* So many are told one by one; the last of them counts the rest. */
Test(diagnosis_agreement_words, a_source_that_changes_all_the_time)
{
    struct outcome *o = selected((struct selection){1, 0, 1});
    size_t findings = 0;
    uint64_t changes = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        findings += strcmp(f->code, "speed-source-changed") == 0;
        changes += strcmp(f->code, "speed-source-changed") == 0 ? f->count : 0;
    }
    cr_expect_eq(findings, DBR_CHANGES_MAX);
    cr_expect_geq(changes, 85);
    cr_expect_leq(changes, 90);
    outcome_free(o);
}
