/* findings.c - the findings themselves: how many are kept, in which order they stand, what they
 * hold, and that nothing is freed of nothing. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnosis/rules.h"
#include "diagnosis/unknowns.h"
#include "drawbar/analysis.h"
#include "drawbar/compare.h"
#include "support/story_long.h"

/* Whatever a rule writes into one beyond the ceiling goes nowhere, and is counted. */
Test(diagnosis_findings, beyond_the_ceiling_they_are_counted)
{
    static const struct dbr_history history = {.timed = true, .end_ns = 60000000000};
    struct findings *f = calloc(1, sizeof *f);
    bool told = false;

    f->history = &history;
    for (size_t i = 0; i < DBR_FINDINGS_MAX + 3; i++) {
        struct found *found = findings_add(f, &rules[0]);
        found_about(found, 0, (int)(i % 250), -1);
        found_evidence(f, found, "number %zu", i);
    }
    cr_expect_eq(f->count, DBR_FINDINGS_MAX);
    cr_expect_eq(f->dropped, 3);
    cr_expect_not(f->failed);
    cr_expect_str_eq(f->items[DBR_FINDINGS_MAX - 1]->evidence[0], "number 4095");
    cr_expect_eq(f->items[DBR_FINDINGS_MAX - 1]->seen.evidence.count, 1);
    struct dbr_lines lines = unknowns_list(f);
    for (size_t i = 0; i < lines.count; i++)
        told = told || strstr(lines.items[i], "3 findings are counted only");
    cr_expect(told);
    free((void *)lines.items);
    findings_release(f);
    free(f);
}

/* One finding holds so many lines of evidence, and every address of a bus. */
Test(diagnosis_findings, what_one_of_them_holds)
{
    static const struct dbr_spells none;
    struct findings *f = calloc(1, sizeof *f);
    struct found *found = findings_add(f, &rules[0]);

    for (unsigned i = 0; i < 300; i++) {
        found_address(found, (uint8_t)i);
        found_evidence(f, found, "line %u", i);
    }
    found_during(found, &none);
    cr_expect_eq(found->seen.address_count, 254);
    cr_expect_eq(found->seen.evidence.count, EVIDENCE_MAX);
    cr_expect_not(found->seen.timed, "no spell has no time");
    findings_release(f);
    free(f);
}

/* In one list of codes all else is the same: by SPN, then by FMI (SAE J1939-73 5.7.1). */
Test(diagnosis_findings, codes_of_one_list_stand_in_order)
{
    static const uint8_t list[] = {0x04, 0xFF, 0x65, 0x00, 0x04, 0x01, 0x64, 0x00, 0x05, 0x01,
                                   0x64, 0x00, 0x04, 0x01};
    static const struct {
        unsigned spn, fmi;
    } expected[] = {{100, 4}, {100, 5}, {101, 4}};
    struct story *s = story_new();
    size_t next = 0;

    story_background(s, 0, 30);
    for (int i = 0; i < 5; i++)
        story_long(s, 1 + i, &(struct long_message){.from = 140,
                                                    .to = 255,
                                                    .pgn = DBR_PGN_DM1,
                                                    .data = list,
                                                    .length = sizeof list});
    struct outcome *o = story_tell(s);
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_trouble *t = o->diagnosis->findings[i].trouble;
        if (!t)
            continue;
        cr_assert_lt(next, 3);
        cr_expect_eq(t->code.spn, expected[next].spn, "%zu", next);
        cr_expect_eq(t->code.fmi, expected[next].fmi, "%zu", next);
        next++;
    }
    cr_expect_eq(next, 3);
    outcome_free(o);
}

/* A definition for an ECU of one maker, and nobody said who the sender is. */
Test(diagnosis_findings, a_definition_that_waits_for_a_name)
{
    static const char definition[] =
        "{\"schema\": \"drawbar-messages/1\", \"subject\": \"story\", \"source\": \"story\","
        " \"messages\": [{\"pgn\": 65310, \"name\": \"Belts\", \"length\": 8,"
        " \"when\": {\"manufacturer_code\": 2047}, \"signals\": ["
        " {\"name\": \"x\", \"byte\": 1, \"bits\": 8}]}]}";

    for (int claimed = 0; claimed < 2; claimed++) {
        struct story *s = story_new();
        bool told = false;
        story_define(s, definition);
        story_background(s, 0, 30);
        if (claimed)
            story_claim(s, 0.5, 128, NAME_SPREADER);
        story_beat(s, story_id(6, 65310, 255, 128), 0.1, 1, 30, "0000000000000000");
        struct outcome *o = story_tell(s);
        for (size_t i = 0; i < o->diagnosis->cannot_tell.count; i++)
            told = told || strstr(o->diagnosis->cannot_tell.items[i],
                                  "waits for a NAME that was never claimed: group 65310, Belts");
        cr_expect_eq(told, !claimed);
        outcome_free(o);
    }
}

Test(diagnosis_findings, each_severity_has_a_word)
{
    cr_expect_str_eq(dbr_severity_name(DBR_NOTE), "note");
    cr_expect_str_eq(dbr_severity_name(DBR_WARNING), "warning");
    cr_expect_str_eq(dbr_severity_name(DBR_FAULT), "fault");
}

/* As free() does, so that a caller need not ask what came to be. */
Test(diagnosis_findings, nothing_is_freed_of_nothing)
{
    dbr_diagnosis_free(NULL);
    dbr_comparison_free(NULL);
    dbr_analysis_free(NULL);
    dbr_rig_free(NULL);
}
