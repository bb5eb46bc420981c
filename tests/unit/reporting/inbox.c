/*
 * inbox.c - the reduce step of the inbox: order, copies, machines, histories, from reports that are
 * told here in a line each. What the command makes of files is in tests/command.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/inbox.h"
#include "reporting/inbox.h"
#include "support/kept.h"

#define IMPLEMENT "A00A8000FFE00FE7"
#define TRACTOR "20008600FFE00835"

struct told {
    const char *path;
    char content;     /* the digest is 64 of it */
    double start;     /* < 0: no clock */
    const char *code; /* NULL: nothing was found */
    const char *severity;
    bool implement;   /* it is on the bus */
};

static void write_report(char *out, size_t size, const struct told *t)
{
    char finding[400] = "", chain[100] = "", digest[65];

    memset(digest, t->content, 64);
    digest[64] = '\0';
    if (t->code)
        snprintf(finding, sizeof finding,
                 "{\"code\":\"%s\",\"severity\":\"%s\",\"interface\":\"can0\",\"address\":240,"
                 "\"pgn\":65096,\"start\":1.5,\"end\":null,\"count\":1,\"title\":\"%s at \\\"it\\\"\"}",
                 t->code, t->severity, t->code);
    if (t->implement)
        snprintf(chain, sizeof chain, "{\"interface\":\"can0\",\"implement\":128,\"links\":[]}");
    snprintf(out, size,
             "{\"schema\":\"drawbar-report/1\",\"recording\":{\"start\":%.1f,\"time_base\":\"%s\","
             "\"duration_s\":9.5,\"frames\":7,\"files\":[{\"path\":\"%s\",\"sha256\":\"%s\","
             "\"format\":\"pcap\",\"rejected\":0}]},\"ecus\":["
             "{\"interface\":\"can0\",\"address\":240,\"name\":\"" TRACTOR "\",\"label\":\"T\","
             "\"function\":134,\"industry_group\":2,\"device_class\":0}%s],\"chain\":[%s],"
             "\"findings\":[%s],\"verdict\":{\"root_causes\":[0],\"sentence\":\"S\"}}",
             t->start, t->start < 0 ? "relative" : "epoch", t->path, digest,
             t->implement ? ",{\"interface\":\"can0\",\"address\":128,\"name\":\"" IMPLEMENT "\"}" : "",
             chain, finding);
}

/* The uploads in this order, or in the opposite one. */
static struct dbr_inbox *gather(FILE *spool, const struct told *told, size_t count, bool backwards)
{
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);
    char json[2000];

    cr_assert_not_null(inbox);
    for (size_t i = 0; i < count; i++) {
        write_report(json, sizeof json, &told[backwards ? count - 1 - i : i]);
        struct dbr_inbox_upload upload = {.json = json};
        cr_assert_eq(dbr_inbox_add(inbox, &upload, NULL), 0);
    }
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    return inbox;
}

static char *lines(const struct dbr_inbox *inbox,
                   int (*write)(FILE *, const struct dbr_inbox *, struct dbr_error *))
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(write(out, inbox, NULL), 0);
    fclose(out);
    return kept(text);
}

static const struct told farm[] = {
    {"c", 'c', 300, "speed-lost", "fault", true},
    {"./b/late", 'b', 200, "speed-lost", "fault", true},
    {"a-copy", 'c', 300, "speed-lost", "fault", true},
    {"quiet", 'd', 900, NULL, NULL, true},
    {"clockless", 'e', -1, "speed-lost", "fault", true},
    {"warned", 'f', 950, "bus-load-high", "warning", false},
};
#define FARM (sizeof farm / sizeof farm[0])

Test(inbox, worst_first_then_the_latest)
{
    static const char *const order[] = {"a-copy", "c", "b/late", "clockless", "warned", "quiet"};
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = gather(spool, farm, FARM, false);

    cr_assert_eq(inbox->order_count, FARM);
    for (size_t i = 0; i < FARM; i++)
        cr_expect_str_eq(inbox->rows[inbox->order[i]].path, order[i]);
    dbr_inbox_free(inbox);
    fclose(spool);
}

/* The first path in byte order is the upload, whichever came first. */
Test(inbox, copies_name_the_upload)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = gather(spool, farm, FARM, false);
    struct dbr_inbox_totals totals;
    char *uploads = lines(inbox, dbr_inbox_uploads), *findings = lines(inbox, dbr_inbox_findings);

    dbr_inbox_totals(inbox, &totals);
    cr_expect_eq(totals.uploads, 5);
    cr_expect_eq(totals.copies, 1);
    cr_expect_eq(totals.findings, 4);
    cr_expect_not_null(strstr(uploads, "\"path\":\"c\",\"page\":null,\"sha256\":\"ccc"));
    cr_expect_not_null(strstr(uploads, "\"duplicate_of\":\"a-copy\""));
    cr_expect_null(strstr(findings, "\"path\":\"c\""), "a copy tells its findings again");
    free(uploads);
    free(findings);
    dbr_inbox_free(inbox);
    fclose(spool);
}

Test(inbox, order_of_reports_does_not_matter)
{
    FILE *spools[2] = {tmpfile(), tmpfile()};
    char *texts[2][2];

    for (int i = 0; i < 2; i++) {
        struct dbr_inbox *inbox = gather(spools[i], farm, FARM, i == 1);
        texts[i][0] = lines(inbox, dbr_inbox_uploads);
        texts[i][1] = lines(inbox, dbr_inbox_findings);
        dbr_inbox_free(inbox);
        fclose(spools[i]);
    }
    cr_expect_str_eq(texts[0][0], texts[1][0]);
    cr_expect_str_eq(texts[0][1], texts[1][1]);
    for (int i = 0; i < 4; i++)
        free(texts[i / 2][i % 2]);
}

/* Three contents of one machine, the copy not counted; what has no clock comes last. */
Test(inbox, history_by_machine)
{
    static const char *const order[] = {"b/late", "a-copy", "clockless"};
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = gather(spool, farm, FARM, true);

    cr_assert_eq(inbox->history_count, 1);
    const struct inbox_history *h = &inbox->histories[0];
    cr_assert_eq(h->count, 3);
    for (size_t i = 0; i < 3; i++) {
        const struct inbox_event *e = &inbox->events[h->first + i];
        cr_expect_str_eq(inbox->rows[e->row].path, order[i]);
        cr_expect_str_eq(e->ecu, TRACTOR);
    }
    dbr_inbox_free(inbox);
    fclose(spool);
}

Test(inbox, machine_is_the_implement_else_the_tractor)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = gather(spool, farm, FARM, false);

    cr_expect_str_eq(inbox->rows[0].machine, IMPLEMENT);
    cr_expect_str_eq(inbox->rows[0].tractor, TRACTOR);
    cr_expect_str_eq(inbox->rows[5].machine, TRACTOR);
    cr_expect_str_eq(inbox->rows[5].implement, "");
    dbr_inbox_free(inbox);
    fclose(spool);
}

Test(inbox, what_is_no_report_is_not_taken)
{
    static const char *const texts[] = {
        "", "{", "[]", "null", "{\"schema\":\"other\"}", "{\"schema\":\"drawbar-report/1\"}",
        "{\"schema\":\"drawbar-report/1\",\"findings\":7}", "\"drawbar-report/1\""};
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);

    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct dbr_inbox_upload upload = {.json = texts[i]};
        cr_expect_eq(dbr_inbox_add(inbox, &upload, NULL), 1, "%s", texts[i]);
    }
    cr_expect_eq(inbox->row_count, 0);
    dbr_inbox_free(inbox);
    fclose(spool);
}

/* Members of the wrong kind are unknown: no crash, no zero. */
Test(inbox, a_report_with_wrong_members)
{
    static const char text[] =
        "{\"schema\":\"drawbar-report/1\",\"recording\":{\"start\":\"x\",\"time_base\":\"epoch\","
        "\"files\":{\"path\":[]}},\"ecus\":7,\"chain\":\"\",\"verdict\":[],"
        "\"findings\":[7,null,{\"severity\":1,\"address\":\"a\",\"start\":1e999}]}";
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);
    struct dbr_inbox_upload upload = {.json = text};

    cr_assert_eq(dbr_inbox_add(inbox, &upload, NULL), 0);
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    char *line = lines(inbox, dbr_inbox_uploads);
    cr_expect_not_null(strstr(line, "\"start_utc\":null,\"duration_s\":null,\"frames\":null"));
    free(line);
    dbr_inbox_free(inbox);
    fclose(spool);
}

static char *part(int (*write)(FILE *, const struct dbr_inbox *, enum dbr_inbox_list, size_t,
                               struct dbr_error *),
                  const struct dbr_inbox *inbox, enum dbr_inbox_list list, size_t number)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(write(out, inbox, list, number, NULL), 0);
    fclose(out);
    return text;
}

static char *page(const struct dbr_inbox *inbox, enum dbr_inbox_list list, size_t number)
{
    return part(dbr_inbox_page, inbox, list, number);
}

static size_t times(const char *text, const char *part)
{
    size_t count = 0;

    for (; (text = strstr(text, part)); text += strlen(part))
        count++;
    return count;
}

/* Reports may come from strangers: what drawbar would never write is unknown. */
Test(inbox, figures_beyond_reason_are_unknown)
{
    static const char *const figures[] = {"1e308", "1e999", "-1", "-1e308", "1e19", "\"7\"", "null"};
    char json[300];

    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        struct dbr_inbox *inbox = dbr_inbox_new(tmpfile(), NULL);
        snprintf(json, sizeof json,
                 "{\"schema\":\"drawbar-report/1\",\"findings\":[],\"recording\":{\"time_base\":"
                 "\"epoch\",\"start\":%s,\"duration_s\":%s,\"frames\":%s,\"files\":[{\"path\":\"a\","
                 "\"rejected\":%s}]}}", figures[i], figures[i], figures[i], figures[i]);
        cr_assert_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, NULL), 0);
        cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
        char *uploads = lines(inbox, dbr_inbox_uploads);
        cr_expect_not_null(strstr(uploads, "\"start_utc\":null,\"duration_s\":null,\"frames\":null,"
                                           "\"rejected\":null"), "%s: %s", figures[i], uploads);
        free(uploads);
        dbr_inbox_free(inbox);
    }
}

/* A path is text: never markup, never part of an address. */
Test(inbox, page_with_hostile_names)
{
    static const char hostile[] = "../../x\"><script>alert(1)</script><b a='\n\x7f\xff";
    char json[2000];
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);
    struct dbr_inbox_upload upload = {.path = hostile, .json = json, .page = 16};

    write_report(json, sizeof json, &farm[0]);
    cr_assert_eq(dbr_inbox_add(inbox, &upload, NULL), 0);
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    char *text = page(inbox, DBR_INBOX_INDEX, 1);
    cr_expect_eq(times(text, "<script"), 1, "the one of the page itself");
    cr_expect_null(strstr(text, "<b a="));
    cr_expect_eq(times(text, "&lt;script&gt;"), 2, "shown, and what is sorted by");
    cr_expect_eq(times(text, "href=\"reports/cccccccccccccccc.html\""), 1);
    cr_expect_null(strstr(text, "{{"), "a slot that nobody filled");
    free(text);
    dbr_inbox_free(inbox);
    fclose(spool);
}

/* Two contents that share 16 digits: a page by these is that of nobody knows which. */
Test(inbox, no_link_leads_to_the_page_of_another_content)
{
    static const char *const digests[] = {"aaaaaaaaaaaaaaaa0", "aaaaaaaaaaaaaaaa1"};
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);
    char json[2000];

    for (size_t i = 0; i < 2; i++) {
        char digest[DBR_DIGEST_HEX_SIZE];
        struct told told = {i == 0 ? "first" : "second", 'a', 300, "speed-lost", "fault", true};
        snprintf(digest, sizeof digest, "%s%047d", digests[i], 0);
        write_report(json, sizeof json, &told);
        struct dbr_inbox_upload upload = {
            .json = json, .sha256 = digest, .page = i == 0 ? 16 : DBR_DIGEST_HEX_SIZE - 1};
        cr_assert_eq(dbr_inbox_add(inbox, &upload, NULL), 0);
    }
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    char *text = page(inbox, DBR_INBOX_INDEX, 1), *told = lines(inbox, dbr_inbox_uploads);
    cr_expect_eq(times(text, "href=\"reports/"), 1);
    cr_expect_eq(times(text, "href=\"reports/aaaaaaaaaaaaaaaa10000"), 1);
    cr_expect_eq(times(told, "\"page\":null"), 1);
    cr_expect_eq(times(told, "\"upload\":\"aaaaaaaaaaaaaaaa00000"), 1, "told apart all the same");
    free(text);
    free(told);
    dbr_inbox_free(inbox);
    fclose(spool);
}

Test(inbox, page_tells_copies_and_what_came_back)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = gather(spool, farm, FARM, false);
    char *text = page(inbox, DBR_INBOX_INDEX, 1);
    char *history = page(inbox, DBR_INBOX_HISTORY, 1);

    cr_expect_eq(times(text, "<tr class="), 5);
    cr_expect_not_null(strstr(text, "a-copy<span class=\"also\">also as c</span>"));
    cr_expect_null(strstr(text, "reports/"), "there is no page of any of them");
    cr_expect_eq(times(text, "came in other uploads"), 3);
    cr_expect_eq(times(history, "<tr class="), 1);
    cr_expect_not_null(strstr(history, ">3 of 4 uploads"));
    free(text);
    free(history);
    dbr_inbox_free(inbox);
    fclose(spool);
}

/* 2,001 uploads: three pages, each row on one of them. */
Test(inbox, pages)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);
    size_t rows = 0, scripted = 0;
    char head[200];
    char name[DBR_INBOX_NAME_SIZE];

    for (size_t i = 0; i < 2 * DBR_INBOX_PAGE_ROWS + 1; i++) {
        snprintf(name, sizeof name, "%zu", i);
        struct dbr_inbox_upload upload = {.path = name, .sha256 = "", .reason = "gone"};
        cr_assert_eq(dbr_inbox_add(inbox, &upload, NULL), 0);
    }
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    cr_assert_eq(dbr_inbox_pages(inbox, DBR_INBOX_INDEX), 3);
    cr_expect_eq(dbr_inbox_pages(inbox, DBR_INBOX_HISTORY), 1);
    for (size_t i = 1; i <= 3; i++) {
        char *text = page(inbox, DBR_INBOX_INDEX, i);
        cr_expect_not_null(strstr(text, "href=\"index-3.html\""));
        rows += times(text, "<tr class=");
        free(text);
        text = part(dbr_inbox_rows, inbox, DBR_INBOX_INDEX, i);
        snprintf(head, sizeof head, "drawbarRows(\"%.64s\", %zu, \"<tr ", inbox->edition, i);
        cr_expect_eq(strncmp(text, head, strlen(head)), 0);
        cr_expect_eq(times(text, "\n"), 1, "one string: %zu", i);
        scripted += times(text, "<tr class=");
        free(text);
    }
    cr_expect_eq(rows, 2 * DBR_INBOX_PAGE_ROWS + 1);
    cr_expect_eq(scripted, rows);
    dbr_inbox_free(inbox);
    fclose(spool);
}

/* 16 digits, unless another content shares them. */
Test(inbox, names_of_pages)
{
    static const char *const digests[] = {
        "0000000000000000a000000000000000000000000000000000000000000000aa",
        "0000000000000000b000000000000000000000000000000000000000000000aa",
        "0000000000000000b000000000000000000000000000000000000000000000aa",
        "1111111111111111a000000000000000000000000000000000000000000000aa",
        "1111111111111111a000000000000000000000000000000000000000000000aa"};
    static const size_t lengths[] = {64, 64, 64, 16, 16};

    for (size_t i = 0; i < 5; i++)
        cr_expect_eq(dbr_inbox_id_length(digests, 5, i), lengths[i]);
}
