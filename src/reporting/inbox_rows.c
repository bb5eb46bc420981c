/* inbox_rows.c - rows of the pages of an inbox: an upload, a history (inbox_page.h). */
#include <math.h>
#include <string.h>

#include "reporting/html_text.h"
#include "reporting/inbox_page.h"

#define COPIES_SHOWN 3u

const char *const inbox_upload_heads[] = {"Verdict", "Upload", "Machine", "When",
                                          "How long", "Findings", NULL};
const char *const inbox_history_heads[] = {"Fault",      "ECU and machine", "Came in", "First",
                                           "Last",       "Uploads",         NULL};

/* A mark and a word, never colour alone. */
static void write_worst(FILE *out, enum dbr_worst worst)
{
    static const struct {
        const char *mark, *word;
    } heads[] = {[DBR_WORST_NONE] = {"&#10003;", "Nothing found"},
                 [DBR_WORST_NOTE] = {"&#9675;", "Note"},
                 [DBR_WORST_UNUSABLE] = {"&#10005;", "Unusable"},
                 [DBR_WORST_WARNING] = {"&#9650;", "Warning"},
                 [DBR_WORST_FAULT] = {"&#9632;", "Fault"}};

    fprintf(out, "<span class=\"severity %s\"><span aria-hidden=\"true\">%s</span> %s</span> ",
            inbox_worst_name(worst), heads[worst].mark, heads[worst].word);
}

/* What filter and sort go by stands beside what people read. */
static void open_row(struct page_table *t, enum dbr_worst worst, const struct inbox_row *row)
{
    FILE *out = t->p->out;
    const char *name = inbox_worst_name(worst);

    t->column = 0;
    fprintf(out, "<tr class=\"%s\" data-worst=\"%s\" data-machine=\"", name, name);
    html_text(out, row->machine);
    fputs("\" data-name=\"", out);
    html_text(out, row->path);
    fputc('"', out);
    if (!isnan(row->start))
        fprintf(out, " data-when=\"%.3f\"", row->start);
    if (!isnan(row->duration))
        fprintf(out, " data-length=\"%.3f\"", row->duration);
    fputc('>', out);
}

/* A cell for the day and time of a recording; "no clock" where it had none. */
static void write_when(struct page_table *t, const struct inbox_row *row)
{
    char stamp[INBOX_STAMP_SIZE];

    page_cell_open(t);
    if (!*inbox_stamp(stamp, row->start, 0)) {
        fputs(row->error ? "" : "no clock", t->p->out);
        return;
    }
    fprintf(t->p->out, "<time datetime=\"%s\">%.10s %.8s</time>", stamp, stamp, stamp + 11);
}

static void write_length(struct page_table *t, const struct inbox_row *row)
{
    page_cell_open(t);
    if (!isnan(row->duration) && row->duration >= 3600)
        fprintf(t->p->out, "%.1f&#160;h", row->duration / 3600);
    else if (!isnan(row->duration) && row->duration >= 120)
        fprintf(t->p->out, "%.1f&#160;min", row->duration / 60);
    else if (!isnan(row->duration))
        fprintf(t->p->out, "%.1f&#160;s", row->duration);
    else if (!row->error)
        fputs("unknown", t->p->out);
}

/* The name of an upload, which is a link where there is a page of it. */
static void write_link(FILE *out, const struct inbox_row *row, const char *text)
{
    if (row->page)
        fprintf(out, "<a href=\"reports/%s.html\">", row->id);
    html_text(out, text);
    if (row->page)
        fputs("</a>", out);
}

static void write_upload(struct page_table *t, const struct dbr_inbox *inbox,
                         const struct inbox_row *row)
{
    FILE *out = t->p->out;
    size_t shown = 0;

    page_cell_open(t);
    write_link(out, row, row->path[0] ? row->path : "(no name)");
    if (row->copies == 0)
        return;
    fputs("<span class=\"also\">also as ", out);
    for (size_t i = row->next_copy; i != INBOX_NONE && shown < COPIES_SHOWN; shown++) {
        fputs(shown > 0 ? ", " : "", out);
        html_text(out, inbox->rows[i].path);
        i = inbox->rows[i].next_copy;
    }
    if (row->copies > shown)
        fprintf(out, " and %zu more", row->copies - shown);
    fputs("</span>", out);
}

static void write_ecu(FILE *out, const char *label, const char *name)
{
    if (!name[0])
        return;
    if (label) {
        html_text(out, label);
        fputc(' ', out);
    }
    fputs("<span class=\"name\">", out);
    html_text(out, name);
    fputs("</span>", out);
}

static void write_machine(struct page_table *t, const struct inbox_row *row)
{
    FILE *out = t->p->out;

    page_cell_open(t);
    write_ecu(out, row->implement_label, row->implement);
    write_ecu(out, row->tractor_label, row->tractor);
    if (!row->implement[0] && !row->tractor[0] && row->machine[0])
        write_ecu(out, NULL, row->machine);
    else if (!row->machine[0] && !row->error)
        fputs("no NAME was seen", out);
}

/* Roots first, in bold; of the rest what there is room for. */
static void write_codes(struct page_table *t, const struct inbox_row *row)
{
    FILE *out = t->p->out;

    page_cell_open(t);
    if (row->code_count > 0)
        fputs("<ul>", out);
    for (size_t i = 0; i < row->code_count && i < DBR_INBOX_CODES_SHOWN; i++) {
        fputs(row->codes[i].root ? "<li><strong>" : "<li>", out);
        html_text(out, row->codes[i].code);
        fputs(row->codes[i].root ? "</strong>" : "", out);
        if (row->codes[i].count > 1)
            fprintf(out, " &#215;%zu", row->codes[i].count);
        fputs("</li>", out);
    }
    if (row->code_count > DBR_INBOX_CODES_SHOWN)
        fprintf(out, "<li>and %zu other codes</li>",
                row->code_count - (size_t)DBR_INBOX_CODES_SHOWN);
    fputs(row->code_count > 0 ? "</ul>" : "", out);
    if (row->histories > 0)
        fprintf(out, "<a class=\"came\" href=\"history.html\">%zu of them came in other uploads "
                     "too</a>", row->histories);
}

void inbox_upload_row(struct page_table *t, const struct dbr_inbox *inbox,
                      const struct inbox_row *row)
{
    FILE *out = t->p->out;

    open_row(t, row->worst, row);
    page_cell_open(t);
    write_worst(out, row->worst);
    fputs("<span class=\"said\">", out);
    html_text(out, row->error ? row->error : row->sentence ? row->sentence : "");
    fputs("</span>", out);
    write_upload(t, inbox, row);
    write_machine(t, row);
    write_when(t, row);
    write_length(t, row);
    write_codes(t, row);
    page_row_close(t);
}

static void write_fault(struct page_table *t, const struct inbox_event *e,
                        enum dbr_severity severity)
{
    FILE *out = t->p->out;

    page_cell_open(t);
    page_severity(t->p, severity);
    html_text(out, e->code);
    fputs("<span class=\"said\">", out);
    html_text(out, e->title);
    fputs("</span>", out);
}

/* Of how many, where all of them are of one machine. */
static void write_share(struct page_table *t, const struct dbr_inbox *inbox,
                        const struct inbox_history *h)
{
    const char *machine = inbox->rows[inbox->events[h->first].row].machine;
    bool one = machine[0] != '\0';

    for (size_t i = 0; i < h->count && one; i++)
        one = strcmp(inbox->rows[inbox->events[h->first + i].row].machine, machine) == 0;
    page_cell_open(t);
    if (one)
        fprintf(t->p->out, "%zu of %zu uploads", h->count, inbox_machine_uploads(inbox, machine));
    else
        fprintf(t->p->out, "%zu uploads", h->count);
}

/* In the order of time: the first ones, and the last. */
static void write_links(struct page_table *t, const struct dbr_inbox *inbox,
                        const struct inbox_history *h)
{
    FILE *out = t->p->out;
    size_t left_out = h->count > DBR_INBOX_LINKS_SHOWN ? h->count - DBR_INBOX_LINKS_SHOWN : 0;
    char stamp[INBOX_STAMP_SIZE];

    page_cell_open(t);
    fputs("<ul>", out);
    for (size_t i = 0; i < h->count; i++) {
        const struct inbox_row *row = &inbox->rows[inbox->events[h->first + i].row];
        if (left_out > 0 && i == DBR_INBOX_LINKS_SHOWN / 2) {
            fprintf(out, "<li>and %zu more</li>", left_out);
            i += left_out - 1;
            continue;
        }
        fputs("<li>", out);
        if (*inbox_stamp(stamp, row->start, 0))
            fprintf(out, "%.10s ", stamp);
        write_link(out, row, row->path);
        fputs("</li>", out);
    }
    fputs("</ul>", out);
}

void inbox_history_row(struct page_table *t, const struct dbr_inbox *inbox,
                       const struct inbox_history *h)
{
    const struct inbox_event *last = &inbox->events[h->first + h->count - 1];
    const struct inbox_row *first = &inbox->rows[inbox->events[h->first].row];
    const struct inbox_row *row = &inbox->rows[last->row];

    open_row(t, h->severity == DBR_FAULT ? DBR_WORST_FAULT : DBR_WORST_WARNING, row);
    write_fault(t, last, h->severity);
    page_cell_open(t);
    write_ecu(t->p->out, NULL, last->ecu);
    if (row->machine[0] && strcmp(row->machine, last->ecu) != 0)
        write_ecu(t->p->out, row->implement_label ? row->implement_label : row->tractor_label,
                  row->machine);
    write_share(t, inbox, h);
    write_when(t, first);
    write_when(t, row);
    write_links(t, inbox, h);
    page_row_close(t);
}
