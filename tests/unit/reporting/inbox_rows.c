/*
 * inbox_rows.c - what an inbox shows of each upload and of each history, from reports of few words.
 * Order, copies and machines are in inbox.c beside this.
 */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/inbox_said.h"

Test(inbox_rows, a_length_has_the_unit_that_fits)
{
    static const struct said uploads[] = {{.path = "a", .duration = 9.5},
                                          {.path = "b", .duration = 150},
                                          {.path = "c", .duration = 5400},
                                          {.path = "d", .duration = -1}};
    struct dbr_inbox *inbox = said_all(uploads, 4);
    char *text = said_page(inbox, DBR_INBOX_INDEX);

    cr_expect_not_null(strstr(text, "9.5&#160;s"));
    cr_expect_not_null(strstr(text, "2.5&#160;min"));
    cr_expect_not_null(strstr(text, "1.5&#160;h"));
    cr_expect_eq(said_times(text, ">unknown"), 1);
    free(text);
    said_leave(inbox);
}

/* Causes first and in bold; more codes than a row has room for are counted. */
Test(inbox_rows, an_upload_of_many_codes)
{
    char findings[2000];
    size_t used = 0;

    for (unsigned i = 0; i <= DBR_INBOX_CODES_SHOWN + 2; i++)
        used += (size_t)snprintf(findings + used, sizeof findings - used,
                                 "%s{\"code\":\"code-%u\",\"severity\":\"%s\"}", i > 0 ? "," : "",
                                 i < 10 ? i : 9, i == 5 ? "fault" : i > 5 ? "note" : "warning");
    struct said upload = {.path = "a", .findings = findings, .roots = "9,\"5\",7"};
    struct dbr_inbox *inbox = said_all(&upload, 1);
    char *text = said_page(inbox, DBR_INBOX_INDEX), *line = said_lines(inbox, dbr_inbox_uploads);

    cr_expect_not_null(strstr(text, "<ul><li><strong>code-7</strong></li>"
                                    "<li><strong>code-9</strong> &#215;2</li><li>code-5</li>"));
    cr_expect_not_null(strstr(text, "<li>and 2 other codes</li>"));
    cr_expect_not_null(strstr(line, "\"worst\":\"fault\""));
    cr_expect_not_null(strstr(line, "\"root_codes\":\"code-7 code-9\""));
    free(text);
    free(line);
    said_leave(inbox);
}

Test(inbox_rows, uploads_that_tell_hardly_anything)
{
    static const struct said uploads[] = {
        {.path = ""},
        {.path = "someone",
         .ecus = "{\"interface\":\"can0\",\"address\":7,\"name\":\"B\"},{\"name\":\"A\"},{}"}};
    struct dbr_inbox *inbox = said_all(uploads, 2);
    char *text = said_page(inbox, DBR_INBOX_INDEX), *lines = said_lines(inbox, dbr_inbox_uploads);

    cr_expect_not_null(strstr(text, "(no name)"));
    cr_expect_not_null(strstr(text, "no NAME was seen"));
    cr_expect_not_null(strstr(text, "<span class=\"name\">A</span>"), "the lowest NAME");
    cr_expect_not_null(strstr(lines, "\"machine\":null,\"implement\":null"));
    free(text);
    free(lines);
    said_leave(inbox);
}


/* The first ones and the last, in the order of time; the others are counted. */
Test(inbox_rows, a_history_of_many_uploads)
{
    struct said uploads[16];
    char paths[16][8];

    for (size_t i = 0; i < 16; i++) {
        snprintf(paths[i], sizeof paths[i], "up%02zu", i);
        uploads[i] = (struct said){.path = paths[i],
                                   .ecus = ECUS(SPREADER),
                                   .chain = CHAIN,
                                   .findings = i < 15 ? LOST("128") : "",
                                   .start = 86400.0 * (double)i};
    }
    struct dbr_inbox *inbox = said_all(uploads, 16);
    char *text = said_page(inbox, DBR_INBOX_HISTORY);

    cr_expect_not_null(strstr(text, "15 of 16 uploads"));
    cr_expect_not_null(strstr(text, "<li>1970-01-06 up05</li><li>and 3 more</li>"
                                    "<li>1970-01-10 up09</li>"));
    cr_expect_null(strstr(text, "up06"));
    cr_expect_not_null(strstr(text, "up14"));
    free(text);
    said_leave(inbox);
}

/* A controller that went from one machine to another: nobody can say "of how many". */
Test(inbox_rows, an_ecu_that_changed_machines)
{
    static const struct said uploads[] = {
        {.path = "a", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = LOST("9")},
        {.path = "b", .ecus = ECUS(OTHER_SPREADER), .chain = CHAIN, .findings = LOST("9")}};
    struct dbr_inbox *inbox = said_all(uploads, 2);
    char *text = said_page(inbox, DBR_INBOX_HISTORY);

    cr_expect_not_null(strstr(text, ">2 uploads<"));
    cr_expect_not_null(strstr(text, "<span class=\"name\">" CONTROLLER "</span>"));
    cr_expect_not_null(strstr(text, "Spreader <span class=\"name\">" OTHER_SPREADER "</span>"),
                       "the machine of the last upload");
    free(text);
    said_leave(inbox);
}

#define ALL_THREE LOADED "," LOST("128") "," LOST("9")

/* Faults before warnings, then what came most often. */
Test(inbox_rows, histories_in_order)
{
    static const struct said uploads[] = {
        {.path = "a", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = ALL_THREE},
        {.path = "b", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = ALL_THREE},
        {.path = "c", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = LOADED "," LOST("9")}};
    struct dbr_inbox *inbox = said_all(uploads, 3);
    static const struct {
        const char *code, *ecu;
        size_t count;
    } expected[] = {{"speed-lost", CONTROLLER, 3},
                    {"speed-lost", SPREADER, 2},
                    {"bus-load-high", SPREADER, 3}};

    cr_assert_eq(inbox->history_count, 3);
    for (size_t i = 0; i < 3; i++) {
        const struct inbox_event *e = &inbox->events[inbox->histories[i].first];
        cr_expect_str_eq(e->code, expected[i].code);
        cr_expect_str_eq(e->ecu, expected[i].ecu);
        cr_expect_eq(inbox->histories[i].count, expected[i].count);
    }
    said_leave(inbox);
}

#define CODED(spn, fmi)                                                                            \
    "{\"code\":\"dtc\",\"severity\":\"fault\",\"pgn\":65226,\"spn\":" spn ",\"fmi\":" fmi          \
    ",\"interface\":\"can0\",\"address\":128}"

/* Twice in one upload is once; another number of the same code is another fault. */
Test(inbox_rows, what_is_the_same_fault)
{
    static const char codes[] =
        CODED("100", "3") "," CODED("100", "3") "," CODED("100", "4") "," CODED("101", "3");
    static const struct said uploads[] = {
        {.path = "a", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = codes},
        {.path = "b", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = CODED("100", "3")}};
    struct dbr_inbox *inbox = said_all(uploads, 2);
    char *text = said_page(inbox, DBR_INBOX_HISTORY);

    cr_expect_eq(inbox->event_count, 4);
    cr_expect_eq(inbox->history_count, 1);
    cr_expect_not_null(strstr(text, "<span class=\"said\">dtc</span>"), "without a title the code");
    free(text);
    said_leave(inbox);
}

/* Maps may overlap: the very upload that came twice is one, not a copy. */
Test(inbox_rows, the_same_upload_from_two_folders)
{
    static const char digest[] =
        "00000000000000000000000000000000000000000000000000000000000000aa";
    static const struct said uploads[] = {{.path = "a", .sha256 = digest, .findings = LOADED},
                                          {.path = "a", .sha256 = digest, .findings = LOADED},
                                          {.path = "b", .sha256 = digest, .findings = LOADED}};
    struct dbr_inbox *inbox = said_all(uploads, 3);
    struct dbr_inbox_totals totals;

    dbr_inbox_totals(inbox, &totals);
    cr_expect_eq(totals.uploads, 1);
    cr_expect_eq(totals.copies, 1);
    cr_expect_eq(totals.findings, 1);
    said_leave(inbox);
}

/* Nobody knows what it was (a stream), so it has no ID; it is told all the same. */
Test(inbox_rows, findings_of_unknown_content)
{
    static const struct said uploads[] = {{.path = "-", .sha256 = "", .findings = LOADED},
                                          {.path = "-", .sha256 = "F", .findings = LOADED}};
    struct dbr_inbox *inbox = said_all(uploads, 2);
    char *findings = said_lines(inbox, dbr_inbox_findings);
    char *lines = said_lines(inbox, dbr_inbox_uploads);

    cr_expect_eq(said_times(findings, "{\"upload\":null,\"path\":\"-\""), 1, "%s", findings);
    cr_expect_not_null(strstr(lines, "{\"upload\":null,"));
    free(findings);
    free(lines);
    said_leave(inbox);
}
