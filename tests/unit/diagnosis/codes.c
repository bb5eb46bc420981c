/* Trouble codes that ECUs report, what explains them and what they explain; silence by order. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "support/repair.h"

#define CODE "fault-code-active"

static uint32_t dm1(uint8_t address)
{
    return story_id(6, DBR_PGN_DM1, 255, address);
}

/* A list with one code, once a second. */
static void tell_code(struct story *s, uint8_t address, double from, double to, unsigned spn,
                      unsigned fmi, unsigned lamps)
{
    char hex[17];

    snprintf(hex, sizeof hex, "%02XFF%02X%02X%02X01FFFF", lamps, spn & 0xFF, spn >> 8 & 0xFF,
             (spn >> 16) << 5 | fmi);
    story_beat(s, dm1(address), 1.0, from, to, hex);
}

static void tell_none(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, dm1(address), 1.0, from, to, "00FF00000000FFFF");
}

static const struct dbr_finding *code_of(const struct outcome *o, uint8_t address, uint32_t spn)
{
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        if (f->trouble && f->address == address && f->trouble->code.spn == spn)
            return f;
    }
    return NULL;
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

Test(diagnosis_codes, one_warning_a_code_however_often_it_is_told)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    tell_code(s, 140, 0, 60, 1079, 4, 0x04);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);
    size_t count = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        count += strcmp(o->diagnosis->findings[i].code, CODE) == 0;
    cr_assert_eq(count, 1, "%s", outcome_codes(o));
    cr_expect_eq(f->severity, DBR_WARNING);
    cr_expect(f->open);
    cr_expect_not_null(strstr(f->title, "SPN 1079, sensor supply 1: voltage low"), "%s", f->title);
    cr_expect(says(f, "amber warning"));
    cr_expect(says(f, "occurrence count 1"));
    cr_expect(says(f, "when it came this recording cannot tell"));
    outcome_free(o);
}

Test(diagnosis_codes, the_red_stop_lamp_makes_it_a_fault)
{
    /* lamps: red on; red not available; red in error */
    static const struct {
        unsigned lamps;
        enum dbr_severity severity;
    } rows[] = {{0x10, DBR_FAULT}, {0x30, DBR_WARNING}, {0x20, DBR_WARNING}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        tell_code(s, 140, 0, 30, 1079, 4, rows[i].lamps);
        struct outcome *o = story_tell(s);
        cr_assert_not_null(outcome_finding(o, CODE, 140));
        cr_expect_eq(outcome_finding(o, CODE, 140)->severity, rows[i].severity, "row %zu", i);
        outcome_free(o);
    }
}

Test(diagnosis_codes, no_fault_told_and_nothing_told_are_no_findings)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    tell_none(s, 140, 0, 30);
    story_beat(s, dm1(141), 1.0, 0, 30, "FFFFFFFFFFFFFFFF");
    /* previously active codes are no finding, but they are known */
    story_beat(s, story_id(6, DBR_PGN_DM2, 255, 142), 5.0, 0, 30, "04FF64000401FFFF");
    struct outcome *o = story_tell(s);

    cr_expect(outcome_clean(o), "%s", outcome_codes(o));
    cr_assert_eq(o->history->troubles.sender_count, 2);
    cr_expect(o->history->troubles.senders[0].told_none);
    cr_expect_not(o->history->troubles.senders[1].told_none);
    cr_assert_eq(o->history->troubles.count, 1);
    cr_expect(o->history->troubles.items[0].previously);
    outcome_free(o);
}

Test(diagnosis_codes, without_time_stamps_a_code_has_no_times)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    tell_code(s, 140, 0, 30, 1079, 4, 0x04);
    struct outcome *o = story_tell_untimed(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f);
    cr_expect_not(f->timed);
    cr_expect_not(says(f, " s to "));
    outcome_free(o);
}

Test(diagnosis_codes, it_came_and_went)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    tell_none(s, 140, 0, 20);
    tell_code(s, 140, 20, 40, 1079, 4, 0x04);
    tell_none(s, 140, 40, 60);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f);
    cr_expect_float_eq((double)f->start_ns / 1e9, 20, 0.2);
    cr_expect_float_eq((double)f->end_ns / 1e9, 40, 0.2);
    cr_expect_not(f->open);
    cr_expect(says(f, "came up during the recording, at 20.0 s"));
    cr_expect(says(f, "went away at 40.0 s"));
    outcome_free(o);
}

Test(diagnosis_codes, an_older_layout_names_no_parameter)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_beat(s, dm1(140), 1.0, 0, 30, "04FF37040481FFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f);
    cr_expect(says(f, "37 04 04 81"));
    cr_expect_null(f->trouble->spn_words);
    cr_expect_not_null(strstr(f->title, "perhaps SPN 1079"), "%s", f->title);
    outcome_free(o);
}

Test(diagnosis_codes, a_code_about_an_ecu_that_fell_silent)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, story_id(6, 65300, 255, 240), 0.1, 0, 30, "0000000000000000");
    tell_none(s, 140, 0, 30);
    tell_code(s, 140, 31, 60, 2240, 9, 0x04);
    tell_none(s, 141, 0, 30);
    tell_code(s, 141, 31, 60, 2239, 9, 0x04); /* of another address */
    struct outcome *o = story_tell(s);
    const struct dbr_finding *silent = outcome_finding(o, "ecu-silent", 240);

    cr_assert_not_null(silent, "%s", outcome_codes(o));
    cr_expect(outcome_because(o, code_of(o, 140, 2240), silent));
    cr_expect_not(outcome_because(o, code_of(o, 141, 2239), silent));
    cr_expect_not_null(strstr(code_of(o, 140, 2240)->title, "messages of tractor ECU"));
    cr_expect(says(code_of(o, 141, 2239), "nothing from address 239 is in this recording"));
    outcome_free(o);
}

Test(diagnosis_codes, a_code_about_a_low_supply)
{
    /* battery potential in bytes 5-6 of 65271, 0.05 V: 10.0 V from 20 s on */
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, story_id(6, 65271, 255, 240), 1.0, 0, 20, "FFFFFFFFFA00FFFF");
    story_beat(s, story_id(6, 65271, 255, 240), 1.0, 20, 60, "FFFFFFFFC800FFFF");
    tell_code(s, 140, 21, 60, 168, 18, 0x04);
    tell_code(s, 141, 21, 60, 168, 3, 0x04);   /* high, not low */
    tell_code(s, 142, 21, 60, 1873, 18, 0x04); /* no supply */
    struct outcome *o = story_tell(s);
    const struct dbr_finding *low = outcome_finding(o, "supply-low", 240);

    cr_assert_not_null(low, "%s", outcome_codes(o));
    cr_expect(outcome_because(o, code_of(o, 140, 168), low));
    cr_expect_not(outcome_because(o, code_of(o, 141, 168), low));
    cr_expect_not(outcome_because(o, code_of(o, 142, 1873), low));
    outcome_free(o);
}

/* A drive in which the tractor's wheel speed reads zero, and its ECU reports a code. */
static struct outcome *dead_wheel(uint8_t address, unsigned spn, unsigned fmi)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_claim(s, 0.1, 240, NAME_TRACTOR);
    story_wheel(s, 240, drive_field, 0, 1, 90);
    story_ground(s, 241, drive_field, 1.0, 1, 90);
    story_gnss(s, 28, drive_field, 1.0, 1, 90);
    tell_code(s, address, 2, 90, spn, fmi, 0x04);
    return story_tell(s);
}

Test(diagnosis_codes, the_senders_own_word_about_a_dead_speed_is_the_root)
{
    struct outcome *o = dead_wheel(240, 1862, 5);
    const struct dbr_finding *zero = outcome_finding(o, "speed-stuck-zero", 240);
    const struct dbr_finding *code = code_of(o, 240, 1862);

    cr_assert_not_null(zero, "%s", outcome_codes(o));
    cr_expect(outcome_because(o, zero, code));
    cr_assert_geq(o->diagnosis->verdict.root_cause_count, 1);
    cr_expect_eq(&o->diagnosis->findings[o->diagnosis->verdict.root_causes[0]], code);
    cr_expect_eq(strncmp(o->diagnosis->verdict.sentence, "Fault: ", 7), 0,
                 "a fault follows from it: %s", o->diagnosis->verdict.sentence);
    outcome_free(o);
}

Test(diagnosis_codes, what_is_no_electrical_word_only_repeats_the_speed)
{
    struct outcome *o = dead_wheel(240, 1862, 8);
    const struct dbr_finding *zero = outcome_finding(o, "speed-stuck-zero", 240);

    cr_assert_not_null(zero);
    cr_expect(outcome_because(o, code_of(o, 240, 1862), zero));
    cr_expect_eq(zero->cause_count, 0);
    outcome_free(o);
}

Test(diagnosis_codes, codes_that_say_nothing_about_a_dead_speed)
{
    static const struct {
        uint8_t address;
        unsigned spn, fmi;
    } rows[] = {
        {240, 1873, 5}, /* a hitch */
        {240, 1859, 5}, /* ground speed, which lives */
        {140, 1862, 5}, /* another ECU's sensor */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = dead_wheel(rows[i].address, rows[i].spn, rows[i].fmi);
        const struct dbr_finding *zero = outcome_finding(o, "speed-stuck-zero", 240);
        const struct dbr_finding *code = code_of(o, rows[i].address, rows[i].spn);
        cr_assert(zero && code, "row %zu", i);
        cr_expect_not(outcome_because(o, zero, code) || outcome_because(o, code, zero),
                      "row %zu", i);
        outcome_free(o);
    }
}

static uint32_t dm13(uint8_t to)
{
    return story_id(6, DBR_PGN_DM13, to, 249);
}

/* Two ECUs silent from 20 s on, one until `back`, and an order to stop from 20 s to 40 s. */
static struct outcome *silence(uint8_t to, double back, bool order)
{
    struct story *s = story_new();

    story_background(s, 0, 80);
    for (uint8_t address = 140; address < 142; address++) {
        story_beat(s, story_id(6, 65300, 255, address), 0.1, 0, 20, "0000000000000000");
        story_beat(s, story_id(6, 65300, 255, address), 0.1, back, 80, "0000000000000000");
    }
    if (order) {
        story_frame(s, 20, dm13(to), "3FFFFFFFFFFFFFFF");
        for (double t = 25; t < 40; t += 5)
            story_frame(s, t, dm13(to), "FFFFFF0FFFFFFFFF");
        story_frame(s, 40, dm13(to), "7FFFFFFFFFFFFFFF");
    }
    return story_tell(s);
}

Test(diagnosis_codes, silence_that_was_ordered_is_no_fault)
{
    struct outcome *o = silence(255, 40.5, true);
    const struct dbr_finding *f = outcome_finding(o, "ecu-silent", 140);
    const struct dbr_finding *stop = outcome_finding(o, "broadcast-stopped", 249);

    cr_assert(f && stop, "%s", outcome_codes(o));
    cr_expect_eq(f->severity, DBR_NOTE);
    cr_expect(says(f, "asked for silence at 20.0 s"));
    cr_expect(outcome_because(o, f, stop));
    cr_expect_not(outcome_has(o, "harness-section-silent", -1));
    cr_expect_float_eq((double)stop->start_ns / 1e9, 20, 0.001);
    cr_expect_float_eq((double)stop->end_ns / 1e9, 40, 0.001);
    outcome_free(o);
}

Test(diagnosis_codes, silence_that_outlasts_the_order_is_one)
{
    struct outcome *o = silence(255, 60, true);
    const struct dbr_finding *f = outcome_finding(o, "ecu-silent", 140);

    cr_assert_not_null(f);
    cr_expect_eq(f->severity, DBR_FAULT);
    cr_expect(outcome_has(o, "harness-section-silent", -1));
    outcome_free(o);
}

Test(diagnosis_codes, an_order_to_one_ecu_excuses_no_other)
{
    struct outcome *o = silence(140, 40.5, true);

    cr_expect_eq(outcome_finding(o, "ecu-silent", 140)->severity, DBR_NOTE);
    cr_expect_eq(outcome_finding(o, "ecu-silent", 141)->severity, DBR_FAULT);
    outcome_free(o);
    o = silence(255, 40.5, false);
    cr_expect_eq(outcome_finding(o, "ecu-silent", 140)->severity, DBR_FAULT);
    cr_expect_not(outcome_has(o, "broadcast-stopped", -1));
    outcome_free(o);
}

/* Two codes of one ECU before; after the repair one of them, and a new failure mode. */
Test(diagnosis_codes, compared_by_ecu_parameter_and_failure_mode)
{
    struct story *before = story_new(), *after = story_new();
    story_background(before, 0, 30);
    tell_code(before, 140, 0, 30, 1079, 4, 0x04);
    tell_code(before, 141, 0, 30, 1079, 4, 0x04);
    tell_code(before, 142, 0, 30, 1079, 4, 0x04);
    story_background(after, 0, 30);
    tell_code(after, 140, 0, 30, 1079, 3, 0x04); /* other failure mode */
    tell_code(after, 141, 0, 30, 1079, 4, 0x04); /* still there */
    tell_none(after, 142, 0, 30);                /* gone */
    tell_code(before, 143, 0, 30, 1079, 4, 0x04);
    tell_code(after, 143, 0, 30, 1080, 4, 0x04); /* another parameter */
    tell_code(before, 144, 0, 30, 1079, 4, 0x04);
    story_beat(after, dm1(144), 1.0, 0, 30, "04FF37040481FFFF"); /* not certain that it is it */
    struct outcome *b = story_tell(before), *a = story_tell(after);
    struct dbr_side sides[2] = {
        {.info = &b->info, .history = b->history, .diagnosis = b->diagnosis},
        {.info = &a->info, .history = a->history, .diagnosis = a->diagnosis}};
    struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);
    size_t of[4] = {0};

    cr_assert_not_null(c);
    for (size_t i = 0; i < c->row_count; i++) {
        const struct dbr_finding *f = c->rows[i].before ? c->rows[i].before : c->rows[i].after;
        of[c->rows[i].change] += f->trouble != NULL;
    }
    cr_expect_eq(of[DBR_CHANGE_GONE], 4);
    cr_expect_eq(of[DBR_CHANGE_STILL], 1);
    cr_expect_eq(of[DBR_CHANGE_NEW], 3);
    dbr_comparison_free(c);
    outcome_free(a);
    outcome_free(b);
}

/* With a drive, or one that stood; the code from the start on, from 30 s on, or never. */
static struct outcome *driven(profile *drive, double from)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_ground(s, 240, drive, 1.0, 1, 90);
    tell_none(s, 140, 0, from);
    if (from < 90)
        tell_code(s, 140, from, 90, 1079, 4, 0x04);
    return story_tell(s);
}

/* What came up on the move does not show while it stands. */
Test(diagnosis_codes, a_code_of_the_drive_is_gone_only_where_it_drove)
{
    static const struct {
        const char *what;
        profile *before, *after;
        double from;
        enum dbr_change change;
    } rows[] = {
        {"it drove again", drive_field, drive_field, 30, DBR_CHANGE_GONE},
        {"it stood", drive_field, drive_stand, 30, DBR_CHANGE_CANNOT_TELL},
        {"it stood, as before", drive_stand, drive_stand, 30, DBR_CHANGE_GONE},
        {"it stood, and the code had been there all along", drive_field, drive_stand, 0,
         DBR_CHANGE_GONE},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, driven(rows[i].before, rows[i].from),
                      driven(rows[i].after, 90), CODE, rows[i].change,
                      rows[i].change == DBR_CHANGE_GONE ? NULL : "during a drive");
}
