/*
 * inbox_rows.c - what an inbox shows of each upload and of each history, from reports of few words.
 * Order, copies and machines are in inbox.c beside this.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/inbox.h"
#include "reporting/inbox.h"
#include "support/kept.h"

#define SPREADER "A00A8000FFE00FE7"
#define OTHER_SPREADER "A00A8000FFE00FE8"
#define CONTROLLER "A0000F0000200001"

/* What a report says; what is NULL or 0 has the least that a report may have. */
struct said {
    const char *path, *ecus, *chain, *findings, *roots, *sha256;
    double start, duration; /* < 0: unknown */
};

static void number(char out[32], double value)
{
    snprintf(out, 32, value < 0 ? "null" : "%.3f", value);
}

static const char *or_none(const char *text)
{
    return text ? text : "";
}

static char *report(const struct said *s)
{
    char *text = NULL, start[32], duration[32];
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    number(start, s->start);
    number(duration, s->duration);
    fprintf(out,
            "{\"schema\":\"drawbar-report/1\",\"recording\":{\"time_base\":\"epoch\","
            "\"start\":%s,\"duration_s\":%s,\"files\":[{\"path\":\"%s\",\"sha256\":\"%s\"}]},"
            "\"ecus\":[%s],\"chain\":[%s],\"verdict\":{\"sentence\":\"S\",\"root_causes\":[%s]},"
            "\"findings\":[%s]}",
            start, duration, or_none(s->path), or_none(s->sha256), or_none(s->ecus),
            or_none(s->chain), or_none(s->roots), or_none(s->findings));
    fclose(out);
    return text;
}

static struct dbr_inbox *empty(void)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);

    cr_assert_not_null(spool);
    cr_assert_not_null(inbox);
    return inbox;
}

static void add(struct dbr_inbox *inbox, const struct said *s)
{
    char *json = report(s);

    cr_assert_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, NULL), 0, "%s",
                 json);
    free(json);
}

/* Each upload of the list, of a content of its own unless it says which. */
static struct dbr_inbox *gather(const struct said *list, size_t count)
{
    struct dbr_inbox *inbox = empty();
    char digest[65];

    for (size_t i = 0; i < count; i++) {
        struct said s = list[i];
        snprintf(digest, sizeof digest, "%064zx", i + 1);
        s.sha256 = s.sha256 ? s.sha256 : digest;
        add(inbox, &s);
    }
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    return inbox;
}

static void leave(struct dbr_inbox *inbox)
{
    FILE *spool = inbox->spool;

    dbr_inbox_free(inbox);
    fclose(spool);
}

static char *written(const struct dbr_inbox *inbox,
                     int (*lines)(FILE *, const struct dbr_inbox *, struct dbr_error *))
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(lines(out, inbox, NULL), 0);
    fclose(out);
    return kept(text);
}

static char *page(const struct dbr_inbox *inbox, enum dbr_inbox_list list)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_inbox_page(out, inbox, list, 1, NULL), 0);
    fclose(out);
    return text;
}

static size_t times(const char *text, const char *part)
{
    size_t count = 0;

    for (; (text = strstr(text, part)); text += strlen(part))
        count++;
    return count;
}

Test(inbox_rows, a_length_has_the_unit_that_fits)
{
    static const struct said uploads[] = {{.path = "a", .duration = 9.5},
                                          {.path = "b", .duration = 150},
                                          {.path = "c", .duration = 5400},
                                          {.path = "d", .duration = -1}};
    struct dbr_inbox *inbox = gather(uploads, 4);
    char *text = page(inbox, DBR_INBOX_INDEX);

    cr_expect_not_null(strstr(text, "9.5&#160;s"));
    cr_expect_not_null(strstr(text, "2.5&#160;min"));
    cr_expect_not_null(strstr(text, "1.5&#160;h"));
    cr_expect_eq(times(text, ">unknown"), 1);
    free(text);
    leave(inbox);
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
    struct dbr_inbox *inbox = gather(&upload, 1);
    char *text = page(inbox, DBR_INBOX_INDEX), *line = written(inbox, dbr_inbox_uploads);

    cr_expect_not_null(strstr(text, "<ul><li><strong>code-7</strong></li>"
                                    "<li><strong>code-9</strong> &#215;2</li><li>code-5</li>"));
    cr_expect_not_null(strstr(text, "<li>and 2 other codes</li>"));
    cr_expect_not_null(strstr(line, "\"worst\":\"fault\""));
    cr_expect_not_null(strstr(line, "\"root_codes\":\"code-7 code-9\""));
    free(text);
    free(line);
    leave(inbox);
}

Test(inbox_rows, uploads_that_tell_hardly_anything)
{
    static const struct said uploads[] = {
        {.path = ""},
        {.path = "someone",
         .ecus = "{\"interface\":\"can0\",\"address\":7,\"name\":\"B\"},{\"name\":\"A\"},{}"}};
    struct dbr_inbox *inbox = gather(uploads, 2);
    char *text = page(inbox, DBR_INBOX_INDEX), *lines = written(inbox, dbr_inbox_uploads);

    cr_expect_not_null(strstr(text, "(no name)"));
    cr_expect_not_null(strstr(text, "no NAME was seen"));
    cr_expect_not_null(strstr(text, "<span class=\"name\">A</span>"), "the lowest NAME");
    cr_expect_not_null(strstr(lines, "\"machine\":null,\"implement\":null"));
    free(text);
    free(lines);
    leave(inbox);
}

#define LOST(address)                                                                              \
    "{\"code\":\"speed-lost\",\"severity\":\"fault\",\"interface\":\"can0\",\"address\":" address  \
    ",\"title\":\"T\"}"
#define LOADED "{\"code\":\"bus-load-high\",\"severity\":\"warning\",\"title\":\"L\"}"
#define ECUS(spreader)                                                                             \
    "{\"interface\":\"can0\",\"address\":128,\"name\":\"" spreader "\",\"label\":\"Spreader\"},"   \
    "{\"interface\":\"can0\",\"address\":9,\"name\":\"" CONTROLLER "\"}"
#define CHAIN "{\"interface\":\"can0\",\"implement\":128}"

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
    struct dbr_inbox *inbox = gather(uploads, 16);
    char *text = page(inbox, DBR_INBOX_HISTORY);

    cr_expect_not_null(strstr(text, "15 of 16 uploads"));
    cr_expect_not_null(strstr(text, "<li>1970-01-06 up05</li><li>and 3 more</li>"
                                    "<li>1970-01-10 up09</li>"));
    cr_expect_null(strstr(text, "up06"));
    cr_expect_not_null(strstr(text, "up14"));
    free(text);
    leave(inbox);
}

/* A controller that went from one machine to another: nobody can say "of how many". */
Test(inbox_rows, an_ecu_that_changed_machines)
{
    static const struct said uploads[] = {
        {.path = "a", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = LOST("9")},
        {.path = "b", .ecus = ECUS(OTHER_SPREADER), .chain = CHAIN, .findings = LOST("9")}};
    struct dbr_inbox *inbox = gather(uploads, 2);
    char *text = page(inbox, DBR_INBOX_HISTORY);

    cr_expect_not_null(strstr(text, ">2 uploads<"));
    cr_expect_not_null(strstr(text, "<span class=\"name\">" CONTROLLER "</span>"));
    cr_expect_not_null(strstr(text, "Spreader <span class=\"name\">" OTHER_SPREADER "</span>"),
                       "the machine of the last upload");
    free(text);
    leave(inbox);
}

#define ALL_THREE LOADED "," LOST("128") "," LOST("9")

/* Faults before warnings, then what came most often. */
Test(inbox_rows, histories_in_order)
{
    static const struct said uploads[] = {
        {.path = "a", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = ALL_THREE},
        {.path = "b", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = ALL_THREE},
        {.path = "c", .ecus = ECUS(SPREADER), .chain = CHAIN, .findings = LOADED "," LOST("9")}};
    struct dbr_inbox *inbox = gather(uploads, 3);
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
    leave(inbox);
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
    struct dbr_inbox *inbox = gather(uploads, 2);
    char *text = page(inbox, DBR_INBOX_HISTORY);

    cr_expect_eq(inbox->event_count, 4);
    cr_expect_eq(inbox->history_count, 1);
    cr_expect_not_null(strstr(text, "<span class=\"said\">dtc</span>"), "without a title the code");
    free(text);
    leave(inbox);
}

/* Maps may overlap: the very upload that came twice is one, not a copy. */
Test(inbox_rows, the_same_upload_from_two_folders)
{
    static const char digest[] =
        "00000000000000000000000000000000000000000000000000000000000000aa";
    static const struct said uploads[] = {{.path = "a", .sha256 = digest, .findings = LOADED},
                                          {.path = "a", .sha256 = digest, .findings = LOADED},
                                          {.path = "b", .sha256 = digest, .findings = LOADED}};
    struct dbr_inbox *inbox = gather(uploads, 3);
    struct dbr_inbox_totals totals;

    dbr_inbox_totals(inbox, &totals);
    cr_expect_eq(totals.uploads, 1);
    cr_expect_eq(totals.copies, 1);
    cr_expect_eq(totals.findings, 1);
    leave(inbox);
}

/* Nobody knows what it was (a stream), so it has no ID; it is told all the same. */
Test(inbox_rows, findings_of_unknown_content)
{
    static const struct said uploads[] = {{.path = "-", .sha256 = "", .findings = LOADED},
                                          {.path = "-", .sha256 = "F", .findings = LOADED}};
    struct dbr_inbox *inbox = gather(uploads, 2);
    char *findings = written(inbox, dbr_inbox_findings), *lines = written(inbox, dbr_inbox_uploads);

    cr_expect_eq(times(findings, "{\"upload\":null,\"path\":\"-\""), 1, "%s", findings);
    cr_expect_not_null(strstr(lines, "{\"upload\":null,"));
    free(findings);
    free(lines);
    leave(inbox);
}

Test(inbox_rows, a_text_that_has_no_end_is_cut)
{
    size_t length = 2 * DBR_INBOX_TEXT_MAX;
    char *path = malloc(length + 1);
    memset(path, 'x', length);
    path[length] = '\0';
    struct said upload = {.path = path};
    struct dbr_inbox *inbox = gather(&upload, 1);
    const char *shown = inbox->rows[0].path;

    cr_expect_leq(strlen(shown), DBR_INBOX_TEXT_MAX + 3);
    cr_expect_str_eq(shown + strlen(shown) - 4, "x\xE2\x80\xA6");
    free(path);
    leave(inbox);
}

/* What a stranger wrote may take no more memory than a ceiling says: it is not even parsed. */
Test(inbox_rows, a_report_of_too_many_values)
{
    struct dbr_inbox *inbox = empty();
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    char *values = malloc(2 * DBR_INBOX_REPORT_VALUES_MAX + 10);

    values[0] = '0';
    for (size_t i = 0; i < DBR_INBOX_REPORT_VALUES_MAX; i++)
        memcpy(values + 1 + 2 * i, ",0", 3);
    char *json = report(&(struct said){.roots = values});
    cr_expect_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, &error), 1);
    cr_expect_eq(error.code, DBR_ERROR_LIMIT);
    cr_expect_eq(inbox->row_count, 0);
    cr_expect_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = "{}"}, &error), 1);
    cr_expect_eq(error.code, DBR_ERROR_FORMAT);
    free(values);
    free(json);
    leave(inbox);
}
