/* ECUs: silence, restart, harness, suspected bus-off, missed beats, low supply. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

static uint32_t own_group(uint8_t address)
{
    return story_id(6, 65300, 255, address);
}

Test(diagnosis_ecu, silence_while_the_bus_goes_on)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, own_group(140), 0.1, 0, 30, zeros);
    story_beat(s, own_group(140), 0.1, 40, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "ecu-silent", 140);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert(f->start_ns > 29500000000 && f->start_ns < 30100000000);
    cr_assert(f->end_ns > 39900000000 && f->end_ns < 40200000000);
    cr_assert_not(f->open);
    outcome_free(o);
}

Test(diagnosis_ecu, pauses_that_are_no_silence)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    /* two seconds are short; one that talks once a second may be quiet for eight */
    story_beat(s, own_group(140), 0.1, 0, 30, zeros);
    story_beat(s, own_group(140), 0.1, 32, 60, zeros);
    story_beat(s, own_group(141), 1.0, 0, 30, zeros);
    story_beat(s, own_group(141), 1.0, 37, 60, zeros);
    /* an ECU that only answers has no beat to miss */
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 4; k++)
            story_frame(s, 2.0 + 9.5 * i + 0.01 * k, own_group(142), zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "ecu-silent", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

static bool has_evidence(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

/*
 * An ECU that starts claims its address (SAE J1939-81 4.2); one that lost the lines need
 * not, and a claim that another one asked for tells of no start.
 */
enum on_return { SAYS_NOTHING, CLAIMS, ANSWERS };

Test(diagnosis_ecu, the_return_tells_supply_from_bus_lines)
{
    for (enum on_return how = SAYS_NOTHING; how <= ANSWERS; how++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        if (how == ANSWERS)
            story_request(s, 38.5, 240, 255);
        for (uint8_t a = 140; a < 142; a++) {
            story_claim(s, 0.1, a, NAME_SPREADER + a);
            story_beat(s, own_group(a), 0.1, 0.5, 30, zeros);
            if (how != SAYS_NOTHING)
                story_claim(s, how == CLAIMS ? 38.0 : 38.52, a, NAME_SPREADER + a);
            story_beat(s, own_group(a), 0.1, 38.3, 60, zeros);
        }
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "harness-section-silent", -1);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_assert_eq(has_evidence(f, "rather the supply"), how == CLAIMS);
        cr_assert_eq(has_evidence(f, "rather the bus lines"), how != CLAIMS);
        outcome_free(o);
    }
}

/* Rear hitch, SPN 1873 in 0.4 %: shaken for a second at 20, 40 and 60 s, or at rest. */
static bool fill_hitch(double t, uint8_t data[8], void *context)
{
    const bool *shaken = context;
    double since = fmod(t, 20);
    bool now = *shaken && t > 19 && (since > 19.8 || since < 0.8);

    memset(data, 0xFF, 8);
    data[0] = (uint8_t)(now && fmod(t, 0.4) < 0.2 ? 115 : 100);
    return true;
}

Test(diagnosis_ecu, a_loose_contact_goes_along_with_the_hitch)
{
    for (int k = 0; k < 2; k++) {
        bool shaken = k == 1;
        struct story *s = story_new();
        story_background(s, 0, 80);
        story_every(s, story_id(6, 65093, 255, 240), 0.1, 0, 80, fill_hitch, &shaken);
        for (int i = 0; i < 4; i++)
            story_beat(s, own_group(140), 0.1, 20 * i + (i ? 4.0 : 0.0), 20 * (i + 1), zeros);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "ecu-silent", 140);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_assert(has_evidence(f, "loose contact"));
        cr_assert_eq(has_evidence(f, "3 as the hitch moved"), shaken);
        outcome_free(o);
    }
}

Test(diagnosis_ecu, two_that_fall_silent_together_share_a_harness)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, own_group(140), 0.1, 0, 30, zeros);
    story_beat(s, own_group(141), 0.1, 0, 30.05, zeros);
    story_beat(s, own_group(140), 0.1, 38, 60, zeros);
    story_beat(s, own_group(141), 0.1, 38, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "harness-section-silent", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->address, -1);
    cr_assert_eq(f->address_count, 2);
    cr_assert(outcome_because(o, outcome_finding(o, "ecu-silent", 140), f));
    cr_assert(outcome_because(o, outcome_finding(o, "ecu-silent", 141), f));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1);
    outcome_free(o);
}

Test(diagnosis_ecu, two_that_fall_silent_ten_seconds_apart_do_not)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, own_group(140), 0.1, 0, 30, zeros);
    story_beat(s, own_group(141), 0.1, 0, 40, zeros);
    story_beat(s, own_group(142), 0.1, 0, 60, zeros);
    story_beat(s, own_group(143), 0.1, 0, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "harness-section-silent", -1), "%s", outcome_codes(o));
    cr_assert(outcome_has(o, "ecu-silent", 140));
    cr_assert(outcome_has(o, "ecu-silent", 141));
    outcome_free(o);
}

Test(diagnosis_ecu, switching_off_is_no_fault)
{
    struct story *s = story_new();
    /* The tractor reports the key off, byte 8 bits 3-4 of 65096 (SPN 1865); others live on. */
    story_background(s, 0, 60);
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 0, 40, "000000000000FFF5");
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 40, 42, "000000000000FFF1");
    story_beat(s, own_group(140), 0.1, 0, 42, zeros);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, the_machine_that_fades_away_at_the_end_was_switched_off)
{
    struct story *s = story_new();
    static const uint8_t addresses[] = {3, 23, 38, 140, 247};

    story_background(s, 0, 60);
    for (int i = 0; i < 5; i++)
        story_beat(s, own_group(addresses[i]), 0.1, 0, 40 + i, zeros);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, an_implement_that_is_torn_off_was_not_switched_off)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    for (int i = 0; i < 5; i++)
        story_beat(s, own_group((uint8_t)(140 + i)), 0.1, 0, 40, zeros);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "harness-section-silent", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, restarts_weigh_more_from_the_second_on)
{
    static const struct {
        int restarts;
        enum dbr_severity severity;
    } rows[] = {{1, DBR_WARNING}, {2, DBR_FAULT}};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_claim(s, 0.1, 128, NAME_SPREADER);
        story_beat(s, own_group(128), 0.1, 0.5, 60, zeros);
        for (int r = 0; r < rows[i].restarts; r++)
            story_claim(s, 20.0 + 10 * r, 128, NAME_SPREADER);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "ecu-restart", 128);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_assert_eq(f->severity, rows[i].severity);
        cr_assert_eq(f->count, (uint64_t)rows[i].restarts);
        outcome_free(o);
    }
}

Test(diagnosis_ecu, an_answer_to_a_request_is_no_restart)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.1, 128, NAME_SPREADER);
    story_beat(s, own_group(128), 0.1, 0.5, 60, zeros);
    story_request(s, 20.0, 0, 255);
    story_claim(s, 20.01, 128, NAME_SPREADER);
    story_request(s, 30.0, 0, 128);
    story_claim(s, 30.8, 128, NAME_SPREADER);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "ecu-restart", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, its_own_request_does_not_excuse_it)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.1, 128, NAME_SPREADER);
    story_beat(s, own_group(128), 0.1, 0.5, 20, zeros);
    /* it boots: asks from the null address, then claims (ISO 11783-5) */
    story_request(s, 22.0, 254, 255);
    story_claim(s, 22.3, 128, NAME_SPREADER);
    story_beat(s, own_group(128), 0.1, 22.6, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "ecu-restart", 128), "%s", outcome_codes(o));
    outcome_free(o);
}

/* Two messages a second, 0.1 s and 0.9 s apart; the boot of another falls late into the long pause. */
Test(diagnosis_ecu, pauses_that_alternate_are_no_absence)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.1, 128, NAME_SPREADER);
    story_beat(s, own_group(128), 0.1, 0.5, 20, zeros);
    story_beat(s, own_group(128), 1.0, 20.0, 60, zeros);
    story_beat(s, story_id(6, 65226, 255, 128), 1.0, 20.1, 60, zeros);
    story_request(s, 30.96, 254, 255);
    story_claim(s, 30.97, 128, NAME_SPREADER);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "ecu-restart", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, all_together_is_a_key_cycle)
{
    struct story *s = story_new();
    static const uint8_t addresses[] = {240, 128, 131};
    static const uint64_t names[] = {NAME_TRACTOR, NAME_SPREADER, NAME_WEIGHER};

    for (int part = 0; part < 2; part++)
        story_wheel(s, 240, drive_stand, 1.0, part ? 33 : 0.5, part ? 60 : 30);
    for (size_t i = 0; i < 3; i++) {
        story_claim(s, 0.1 + 0.05 * (double)i, addresses[i], names[i]);
        story_beat(s, own_group(addresses[i]), 0.1, 0.5, 30, zeros);
        story_claim(s, 31.0 + 0.4 * (double)i, addresses[i], names[i]);
        story_beat(s, own_group(addresses[i]), 0.1, 33, 60, zeros);
    }
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "ecu-restart", 128);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_NOTE);
    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_ecu, silence_after_errors_and_a_new_claim_suggest_bus_off)
{
    static const struct {
        bool errors, claim, expected;
    } rows[] = {{true, true, true}, {false, true, false}, {true, false, false}};

    for (size_t i = 0; i < 3; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_claim(s, 0.1, 128, NAME_SPREADER);
        story_beat(s, own_group(128), 0.1, 0.5, 30, zeros);
        for (int k = 0; rows[i].errors && k < 5; k++)
            story_error(s, 29.5 + 0.05 * k, 0x88, "0000040000000000");
        if (rows[i].claim)
            story_claim(s, 36.0, 128, NAME_SPREADER);
        story_beat(s, own_group(128), 0.1, 36.3, 60, zeros);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "bus-off-suspected", 128);
        cr_assert_eq(f != NULL, rows[i].expected, "row %zu: %s", i, outcome_codes(o));
        if (f)
            cr_assert(outcome_because(o, outcome_finding(o, "ecu-silent", 128), f));
        outcome_free(o);
    }
}

struct lossy {
    unsigned state;
    unsigned lost_in_16; /* starts of a gap */
    unsigned gap;
};

/* Now and then four beats in a row are missing. */
static bool fill_lossy(double t, uint8_t data[8], void *context)
{
    struct lossy *l = context;

    (void)t;
    memset(data, 0, 8);
    l->state = l->state * 1664525u + 1013904223u;
    if (l->gap > 0)
        l->gap--;
    else if (l->state >> 28 < l->lost_in_16)
        l->gap = 4;
    return l->gap == 0;
}

Test(diagnosis_ecu, missed_beats_count_from_one_in_twenty)
{
    static const struct {
        unsigned lost;
        bool expected;
    } rows[] = {{0, false}, {2, true}};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = story_new();
        struct lossy lossy = {1, rows[i].lost, 0};
        story_background(s, 0, 60);
        story_every(s, own_group(140), 0.1, 0, 60, fill_lossy, &lossy);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "message-gaps", 140), rows[i].expected, "row %zu: %s", i,
                     outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_ecu, a_slower_beat_and_bursts_are_no_missed_beats)
{
    struct story *s = story_new();
    story_background(s, 0, 90);
    /* ten times a second while engaged, else once a second */
    for (int i = 0; i < 3; i++) {
        story_beat(s, own_group(140), 0.1, 30.0 * i, 30.0 * i + 15, zeros);
        story_beat(s, own_group(140), 1.0, 30.0 * i + 15, 30.0 * i + 30, zeros);
    }
    /* seven frames back to back, once a second */
    for (int i = 0; i < 85; i++)
        for (int k = 0; k < 7; k++)
            story_frame(s, i + 0.0006 * k, own_group(141), zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "message-gaps", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

/* 65271: battery potential in bytes 5-6, 0.05 V (SPN 168). */
Test(diagnosis_ecu, low_supply_lasts_two_seconds)
{
    static const struct {
        double seconds;
        const char *hex;
        bool expected;
    } rows[] = {{1.0, "FFFFFFFFC800FFFF", false},  /* 10.0 V while cranking */
                {5.0, "FFFFFFFFC800FFFF", true},
                {5.0, "FFFFFFFFDC00FFFF", false},  /* 11.0 V is not below */
                {5.0, "FFFFFFFF0000FFFF", false},  /* 0 V: the input is not connected */
                {5.0, "FFFFFFFFFFFFFFFF", false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        uint32_t id = story_id(6, 65271, 255, 240);
        story_background(s, 0, 60);
        story_beat(s, id, 0.5, 0, 30, "FFFFFFFF1C01FFFF"); /* 14.2 V */
        story_beat(s, id, 0.5, 30, 30 + rows[i].seconds, rows[i].hex);
        story_beat(s, id, 0.5, 30 + rows[i].seconds, 60, "FFFFFFFF1C01FFFF");
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "supply-low", 240), rows[i].expected, "row %zu: %s", i,
                     outcome_codes(o));
        outcome_free(o);
    }
}
