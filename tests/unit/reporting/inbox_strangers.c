/*
 * inbox_strangers.c - reports that drawbar would hardly write: too large, too long, of the wrong
 * kind, or many of one content. What an inbox shows of usual ones is in inbox_rows.c.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/inbox_said.h"

Test(inbox_strangers, a_text_that_has_no_end_is_cut)
{
    size_t length = 2 * DBR_INBOX_TEXT_MAX;
    char *path = malloc(length + 1);
    memset(path, 'x', length);
    path[length] = '\0';
    struct said upload = {.path = path};
    struct dbr_inbox *inbox = said_all(&upload, 1);
    const char *shown = inbox->rows[0].path;

    cr_expect_leq(strlen(shown), DBR_INBOX_TEXT_MAX + 3);
    cr_expect_str_eq(shown + strlen(shown) - 4, "x\xE2\x80\xA6");
    free(path);
    said_leave(inbox);
}

/* What a stranger wrote may take no more memory than a ceiling says: it is not even parsed. */
Test(inbox_strangers, a_report_of_too_many_values)
{
    struct dbr_inbox *inbox = said_nothing();
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    char *values = malloc(2 * DBR_INBOX_REPORT_VALUES_MAX + 10);

    values[0] = '0';
    for (size_t i = 0; i < DBR_INBOX_REPORT_VALUES_MAX; i++)
        memcpy(values + 1 + 2 * i, ",0", 3);
    char *json = said_report(&(struct said){.roots = values});
    cr_expect_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, &error), 1);
    cr_expect_eq(error.code, DBR_ERROR_LIMIT);
    cr_expect_eq(inbox->row_count, 0);
    cr_expect_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = "{}"}, &error), 1);
    cr_expect_eq(error.code, DBR_ERROR_FORMAT);
    free(values);
    free(json);
    said_leave(inbox);
}

/* What stands for nothing, or is of another kind, is passed over. */
Test(inbox_strangers, members_that_only_look_right)
{
    static const char ecus[] =
        "{\"interface\":\"can0\",\"address\":240,\"name\":\"C1\",\"function\":134,"
        "\"industry_group\":2,\"device_class\":5},"
        "{\"interface\":\"can0\",\"address\":241,\"name\":\"C2\",\"function\":134,"
        "\"industry_group\":1,\"device_class\":0},"
        "{\"interface\":\"can0\",\"address\":242,\"name\":\"C3\",\"function\":130,"
        "\"industry_group\":2,\"device_class\":0},"
        "{\"interface\":\"can0\",\"address\":128},{\"interface\":7,\"address\":128}";
    static const struct said upload = {
        .path = "./",
        .sha256 = "00000000000000000000000000000000000000000000000000000000000000GG",
        .ecus = ecus,
        .chain = CHAIN ",{\"interface\":\"can1\",\"implement\":128},{\"implement\":128},{}",
        .findings = "{\"code\":\"c\",\"severity\":\"fault\",\"address\":3e10,\"interface\":null}",
        .roots = "null,-1,{}",
        .start = 5e11};
    struct dbr_inbox *inbox = said_all(&upload, 1);
    const struct inbox_row *row = &inbox->rows[0];

    cr_expect_str_eq(row->tractor, "", "none of them is a tractor ECU of agriculture");
    cr_expect_str_eq(row->implement, "", "it leads a chain, but told no NAME");
    cr_expect_str_eq(row->machine, "C1", "the lowest NAME that there is");
    cr_expect_str_eq(row->path, "./");
    cr_expect_str_eq(row->sha256, "", "no digest");
    cr_expect(isnan(row->start), "beyond the year 9999");
    cr_expect_not(row->codes[0].root);
    said_leave(inbox);
}

/* Several files are one recording: what was rejected of any of them counts. */
Test(inbox_strangers, an_upload_of_two_files)
{
    static const char json[] =
        "{\"schema\":\"drawbar-report/1\",\"findings\":[],\"recording\":{\"files\":["
        "{\"path\":\"a\",\"rejected\":2,\"format\":\"pcap\"},{\"path\":\"b\",\"rejected\":3,"
        "\"format\":\"pcapng\"}]}}";
    struct dbr_inbox *inbox = said_nothing();

    cr_assert_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, NULL), 0);
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    char *text = said_page(inbox, DBR_INBOX_INDEX);
    cr_expect_eq(inbox->rows[0].rejected, 5);
    cr_expect_str_eq(inbox->rows[0].format, "pcap");
    cr_expect_str_eq(inbox->rows[0].path, "a");
    cr_expect_not_null(strstr(text, "<span class=\"said\"></span>"), "no verdict, no sentence");
    free(text);
    said_leave(inbox);
}

/* One upload, and more copies than a row names. */
Test(inbox_strangers, many_copies)
{
    static const char digest[] =
        "00000000000000000000000000000000000000000000000000000000000000aa";
    struct said uploads[12];
    char paths[12][8];

    for (size_t i = 0; i < 12; i++) {
        snprintf(paths[i], sizeof paths[i], "c%02zu", i);
        uploads[i] = (struct said){.path = paths[i], .sha256 = digest};
    }
    struct dbr_inbox *inbox = said_all(uploads, 12);
    char *text = said_page(inbox, DBR_INBOX_INDEX);
    const char *also = strstr(text, "also as c01, c02");

    cr_assert_not_null(also);
    cr_expect_not_null(strstr(also, " more</span>"));
    free(text);
    said_leave(inbox);
}

/* Reports of strangers: of more findings than ours ever have, the rest is counted, none is lost
 * without a word; and their lines are many times what is copied at once. */
Test(inbox_strangers, more_findings_than_a_report_of_ours_has)
{
    size_t room = (DBR_FINDINGS_MAX + 5) * (sizeof LOADED + 1);
    char *findings = malloc(room);
    size_t used = 0;

    for (size_t i = 0; i < DBR_FINDINGS_MAX + 3; i++)
        used += (size_t)snprintf(findings + used, room - used, "%s" LOADED, i > 0 ? "," : "");
    struct said upload = {.path = "a", .findings = findings};
    struct dbr_inbox *inbox = said_all(&upload, 1);
    struct dbr_inbox_totals totals;
    char *lines = said_lines(inbox, dbr_inbox_findings);

    dbr_inbox_totals(inbox, &totals);
    cr_expect_eq(totals.findings, DBR_FINDINGS_MAX);
    cr_expect_eq(totals.events_beyond, 3);
    cr_expect_eq(said_times(lines, "\n"), DBR_FINDINGS_MAX);
    cr_expect_eq(said_times(lines, "\n{\"upload\":\"0000000000000000\",\"path\":\"a\""),
                 DBR_FINDINGS_MAX - 1);
    free(findings);
    free(lines);
    said_leave(inbox);
}
