/* inbox_page.c - the index of an inbox as pages that need nothing else (drawbar/inbox.h). */
#include "reporting/inbox_page.h"

#include <stdlib.h>
#include <string.h>

#include "reporting/html_text.h"
#include "reporting/reports.h"

struct index {
    FILE *out;
    const struct dbr_inbox *inbox;
    enum dbr_inbox_list list;
    size_t number;
    struct dbr_inbox_totals totals;
};

static size_t row_total(const struct dbr_inbox *inbox, enum dbr_inbox_list list)
{
    struct dbr_inbox_totals totals;

    dbr_inbox_totals(inbox, &totals);
    return list == DBR_INBOX_INDEX ? (size_t)totals.uploads : inbox->history_count;
}

static const char *list_name(enum dbr_inbox_list list)
{
    return list == DBR_INBOX_INDEX ? "index" : "history";
}

size_t dbr_inbox_pages(const struct dbr_inbox *inbox, enum dbr_inbox_list list)
{
    size_t rows = row_total(inbox, list);
    return rows == 0 ? 1 : (rows + DBR_INBOX_PAGE_ROWS - 1) / DBR_INBOX_PAGE_ROWS;
}

const char *dbr_inbox_page_name(char out[DBR_INBOX_NAME_SIZE], enum dbr_inbox_list list,
                                size_t number)
{
    const char *name = list_name(list);

    if (number <= 1)
        snprintf(out, DBR_INBOX_NAME_SIZE, "%s.html", name);
    else
        snprintf(out, DBR_INBOX_NAME_SIZE, "%s-%zu.html", name, number);
    return out;
}

const char *dbr_inbox_rows_name(char out[DBR_INBOX_NAME_SIZE], enum dbr_inbox_list list,
                                size_t number)
{
    snprintf(out, DBR_INBOX_NAME_SIZE, "%s-rows-%zu.js", list_name(list), number);
    return out;
}

static void write_title(const struct index *x)
{
    fputs(x->list == DBR_INBOX_INDEX ? "uploads" : "what came back", x->out);
    if (dbr_inbox_pages(x->inbox, x->list) > 1)
        fprintf(x->out, ", page %zu of %zu", x->number, dbr_inbox_pages(x->inbox, x->list));
}

static void write_facts(const struct index *x)
{
    const struct dbr_inbox_totals *t = &x->totals;

    fprintf(x->out, "%llu uploads", (unsigned long long)t->uploads);
    if (t->copies > 0)
        fprintf(x->out, " and %llu copies of them", (unsigned long long)t->copies);
    fprintf(x->out, ", %llu findings", (unsigned long long)t->findings);
}

static void write_sentence(const struct index *x)
{
    const uint64_t *n = x->totals.by_worst;

    if (x->list == DBR_INBOX_HISTORY && x->inbox->history_count == 0)
        fputs("Nothing came more than once on a machine.", x->out);
    else if (x->list == DBR_INBOX_HISTORY)
        fprintf(x->out, "%zu faults and warnings came more than once on a machine.",
                x->inbox->history_count);
    else if (x->totals.uploads == 0)
        fputs("There are no uploads.", x->out);
    else
        fprintf(x->out, "%llu uploads show a fault, %llu a warning; %llu cannot be used.",
                (unsigned long long)n[DBR_WORST_FAULT], (unsigned long long)n[DBR_WORST_WARNING],
                (unsigned long long)n[DBR_WORST_UNUSABLE]);
}

static void link_page(const struct index *x, enum dbr_inbox_list list, size_t number,
                      const char *text)
{
    char name[DBR_INBOX_NAME_SIZE];

    fprintf(x->out, "<a href=\"%s\"%s>%s", dbr_inbox_page_name(name, list, number),
            list == x->list && number == x->number ? " aria-current=\"page\"" : "", text);
    if (number > 1 || dbr_inbox_pages(x->inbox, list) > 1)
        fprintf(x->out, "%s%zu", *text ? " " : "", number);
    fputs("</a>", x->out);
}

/* All pages: two hundred links where an inbox is as full as it can be. */
static void write_pages(const struct index *x)
{
    const size_t counts[] = {dbr_inbox_pages(x->inbox, DBR_INBOX_INDEX),
                             dbr_inbox_pages(x->inbox, DBR_INBOX_HISTORY)};

    for (size_t i = 1; i <= counts[0]; i++)
        link_page(x, DBR_INBOX_INDEX, i, i == 1 ? "Uploads" : "");
    for (size_t i = 1; i <= counts[1]; i++)
        link_page(x, DBR_INBOX_HISTORY, i, i == 1 ? "What came back" : "");
}

static void write_uploads(const struct index *x, struct page_table *t)
{
    size_t first = (x->number - 1) * DBR_INBOX_PAGE_ROWS, at = 0;

    for (size_t i = 0; i < x->inbox->order_count; i++) {
        const struct inbox_row *row = &x->inbox->rows[x->inbox->order[i]];
        if (row->original != INBOX_NONE)
            continue;
        if (at >= first && at < first + DBR_INBOX_PAGE_ROWS)
            inbox_upload_row(t, x->inbox, row);
        at++;
    }
}

static void write_histories(const struct index *x, struct page_table *t)
{
    size_t first = (x->number - 1) * DBR_INBOX_PAGE_ROWS;

    for (size_t i = first; i < x->inbox->history_count && i < first + DBR_INBOX_PAGE_ROWS; i++)
        inbox_history_row(t, x->inbox, &x->inbox->histories[i]);
}

static void write_rows(const struct index *x, struct page_table *t)
{
    if (x->list == DBR_INBOX_INDEX)
        write_uploads(x, t);
    else
        write_histories(x, t);
}

static void write_table(const struct index *x)
{
    const struct page p = {.out = x->out, .prefix = ""};
    bool index = x->list == DBR_INBOX_INDEX;

    if (row_total(x->inbox, x->list) == 0)
        return;
    struct page_table t = page_table_open(
        &p, index ? "Uploads, worst first, then the latest"
                  : "The same code of the same ECU in several uploads, worst first",
        index ? inbox_upload_heads : inbox_history_heads);
    write_rows(x, &t);
    page_table_close(&t);
}

/* What the script must know to find the other pages. */
static void write_place(const struct index *x)
{
    fprintf(x->out, "data-list=\"%s\" data-page=\"%zu\" data-pages=\"%zu\" data-edition=\"%s\"",
            list_name(x->list), x->number, dbr_inbox_pages(x->inbox, x->list), x->inbox->edition);
}

static const struct {
    const char *name;
    void (*write)(const struct index *x);
} slots[] = {
    {"title", write_title}, {"facts", write_facts}, {"sentence", write_sentence},
    {"pages", write_pages}, {"table", write_table}, {"place", write_place},
};

static int fill(void *context, const char *slot, size_t length)
{
    const struct index *x = context;

    for (size_t i = 0; i < sizeof slots / sizeof slots[0]; i++)
        if (strlen(slots[i].name) == length && strncmp(slots[i].name, slot, length) == 0)
            slots[i].write(x);
    return 0;
}

int dbr_inbox_page(FILE *out, const struct dbr_inbox *inbox, enum dbr_inbox_list list,
                   size_t number, struct dbr_error *error)
{
    struct index x = {.out = out, .inbox = inbox, .list = list, .number = number};

    dbr_inbox_totals(inbox, &x.totals);
    if (page_template(out, "index.html", fill, &x, error) < 0)
        return -1;
    return report_written(out, error);
}

/* HTML as a string of JSON, which is one of JavaScript too. */
static int write_string(FILE *out, const char *text)
{
    cJSON *string = cJSON_CreateString(text);
    char *quoted = string ? cJSON_PrintUnformatted(string) : NULL;

    cJSON_Delete(string);
    if (!quoted)
        return -1;
    fputs(quoted, out);
    cJSON_free(quoted);
    return 0;
}

/* The rows of a page, as they stand in it; the caller frees them. NULL: no memory. */
static char *page_rows(const struct dbr_inbox *inbox, enum dbr_inbox_list list, size_t number)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);

    if (!out)
        return NULL;
    const struct page p = {.out = out, .prefix = ""};
    struct index x = {.out = out, .inbox = inbox, .list = list, .number = number};
    struct page_table t = {
        .p = &p, .heads = list == DBR_INBOX_INDEX ? inbox_upload_heads : inbox_history_heads};
    write_rows(&x, &t);
    bool whole = !ferror(out);
    if (fclose(out) == 0 && whole)
        return text;
    free(text);
    return NULL;
}

int dbr_inbox_rows(FILE *out, const struct dbr_inbox *inbox, enum dbr_inbox_list list,
                   size_t number, struct dbr_error *error)
{
    char *rows = page_rows(inbox, list, number);

    fprintf(out, "drawbarRows(\"%s\", %zu, ", inbox->edition, number);
    int status = rows ? write_string(out, rows) : -1;
    free(rows);
    if (status < 0)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    fputs(");\n", out);
    return report_written(out, error);
}
