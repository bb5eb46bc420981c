/*
 * text.c - the summary for a terminal: the verdict, what to do, what stays open;
 * tables come last.
 */
#include "reporting/layout.h"
#include "reporting/reports.h"
#include "reporting/text_findings.h"
#include "reporting/text_tables.h"

#define WIDTH_DEFAULT 80u
#define WIDTH_MIN 40u
#define WIDTH_MAX 200u

static unsigned width_of(const struct dbr_report *r)
{
    if (r->width == 0)
        return WIDTH_DEFAULT;
    return r->width < WIDTH_MIN ? WIDTH_MIN : r->width > WIDTH_MAX ? WIDTH_MAX : r->width;
}

static void write_list(const struct layout *l, const char *heading, const struct dbr_lines *lines)
{
    if (lines->count == 0)
        return;
    layout_heading(l, heading);
    for (size_t i = 0; i < lines->count; i++)
        layout_paragraph(l, INK_PLAIN, "  - ", lines->items[i]);
}

int dbr_report_text(FILE *out, const struct dbr_report *report, struct dbr_error *error)
{
    struct layout l = {out, width_of(report), report->color};

    layout_paragraph(&l, INK_BOLD, "", report->diagnosis->verdict.sentence);
    if (text_findings(&l, report, error) < 0)
        return -1;
    write_list(&l, "What this recording cannot tell", &report->diagnosis->cannot_tell);
    write_list(&l, "For the next recording", &report->diagnosis->record_better);
    text_tables(&l, report);
    return report_written(out, error);
}
