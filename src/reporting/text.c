/*
 * text.c - the summary for a terminal. What to do comes first; tables come last.
 */
#include <inttypes.h>
#include <math.h>
#include <string.h>
#include <time.h>

#include "drawbar/name.h"
#include "reporting/clean.h"
#include "reporting/layout.h"
#include "reporting/reports.h"
#include "reporting/text_tables.h"

#define WHEN_MAX 96u

/* Time of day as the recorder's clock had it; empty where there is no clock. */
static void clock_text(char *out, size_t size, const struct dbr_recording_info *info, int64_t at_ns)
{
    struct tm civil;
    time_t seconds = (time_t)((info->start_ns + at_ns) / 1000000000);

    out[0] = '\0';
    if (info->time_base == DBR_TIME_EPOCH && gmtime_r(&seconds, &civil))
        strftime(out, size, " (%H:%M:%S)", &civil);
}

static void when_text(char *out, size_t size, const struct dbr_recording_info *info,
                      const struct dbr_finding *f)
{
    char from[32], to[32];

    out[0] = '\0';
    if (!f->timed)
        return;
    clock_text(from, sizeof from, info, f->start_ns);
    clock_text(to, sizeof to, info, f->end_ns);
    double start = (double)f->start_ns / 1e9, end = (double)f->end_ns / 1e9;
    if (f->open)
        snprintf(out, size, "from %.1f s%s to the end", start, from);
    else if (f->end_ns - f->start_ns < 50000000)
        snprintf(out, size, "at %.1f s%s", start, from);
    else
        snprintf(out, size, "from %.1f s%s to %.1f s%s", start, from, end, to);
}

static const char *severity_word(enum dbr_severity severity)
{
    switch (severity) {
    case DBR_FAULT:
        return "FAULT    ";
    case DBR_WARNING:
        return "WARNING  ";
    case DBR_NOTE:
        break;
    }
    return "note     ";
}

static enum ink severity_ink(enum dbr_severity severity)
{
    return severity == DBR_FAULT ? INK_FAULT : severity == DBR_WARNING ? INK_WARNING : INK_PLAIN;
}

static void write_title(const struct layout *l, const struct dbr_recording_info *info,
                        const struct dbr_finding *f)
{
    char when[WHEN_MAX], title[640];

    when_text(when, sizeof when, info, f);
    snprintf(title, sizeof title, "%s%s%s", f->title, when[0] ? ", " : "", when);
    layout_paragraph(l, severity_ink(f->severity), severity_word(f->severity), title);
}

static void write_lines(const struct layout *l, const char *first, const struct dbr_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++)
        layout_paragraph(l, INK_PLAIN, first, lines->items[i]);
}

static void write_checks(const struct layout *l, const struct dbr_finding *f)
{
    char number[40];

    write_lines(l, "         Before you start: ", &f->cautions);
    if (f->checks.count > 0)
        layout_line(l, "         What to check next:");
    for (size_t i = 0; i < f->checks.count; i++) {
        snprintf(number, sizeof number, "         %2zu. ", i + 1);
        layout_paragraph(l, INK_PLAIN, number, f->checks.items[i]);
    }
}

static bool is_root(const struct dbr_diagnosis *d, size_t index)
{
    for (size_t i = 0; i < d->verdict.root_cause_count; i++)
        if (d->verdict.root_causes[i] == index)
            return true;
    return false;
}

static bool has_cause(const struct dbr_finding *f, size_t index)
{
    for (size_t i = 0; i < f->cause_count; i++)
        if (f->causes[i] == index)
            return true;
    return false;
}

/* Whether finding `index` follows from `root`, directly or through others; stops at the first
 * root that explains it, so that it is told once. */
static bool follows_from(const struct dbr_diagnosis *d, size_t index, size_t root, unsigned depth)
{
    const struct dbr_finding *f = &d->findings[index];

    if (has_cause(f, root))
        return true;
    for (size_t i = 0; depth > 0 && i < f->cause_count; i++)
        if (follows_from(d, f->causes[i], root, depth - 1))
            return true;
    return false;
}

#define CHAIN_DEPTH 8u

static void write_consequences(const struct layout *l, const struct dbr_report *r, size_t root)
{
    bool first = true;
    char when[WHEN_MAX], line[640];

    for (size_t i = 0; i < r->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &r->diagnosis->findings[i];
        if (i == root || !follows_from(r->diagnosis, i, root, CHAIN_DEPTH))
            continue;
        if (first)
            layout_line(l, "         Follows from it:");
        first = false;
        when_text(when, sizeof when, r->info, f);
        snprintf(line, sizeof line, "%s: %s%s%s", dbr_severity_name(f->severity), f->title,
                 when[0] ? ", " : "", when);
        layout_paragraph(l, INK_PLAIN, "          - ", line);
    }
}

/* Checks and cautions of several root causes are often the same: they are told once. */
static bool same_checks_before(const struct dbr_diagnosis *d, size_t position)
{
    const struct dbr_finding *f = &d->findings[d->verdict.root_causes[position]];

    for (size_t i = 0; i < position; i++)
        if (d->findings[d->verdict.root_causes[i]].checks.items == f->checks.items)
            return true;
    return false;
}

static void write_roots(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_diagnosis *d = r->diagnosis;

    for (size_t i = 0; i < d->verdict.root_cause_count; i++) {
        const struct dbr_finding *f = &d->findings[d->verdict.root_causes[i]];
        fputc('\n', l->out);
        write_title(l, r->info, f);
        write_lines(l, "         ", &f->evidence);
        write_consequences(l, r, d->verdict.root_causes[i]);
        if (same_checks_before(d, i))
            layout_line(l, "         What to check next: as above.");
        else
            write_checks(l, f);
    }
}

static void write_notes(const struct layout *l, const struct dbr_report *r)
{
    bool first = true;

    for (size_t i = 0; i < r->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &r->diagnosis->findings[i];
        if (f->severity != DBR_NOTE || f->cause_count > 0 || is_root(r->diagnosis, i))
            continue;
        if (first)
            fputc('\n', l->out);
        first = false;
        write_title(l, r->info, f);
    }
}

static void write_unknowns(const struct layout *l, const struct dbr_report *r)
{
    if (r->diagnosis->cannot_tell.count == 0)
        return;
    layout_heading(l, "What this recording cannot tell");
    write_lines(l, "  - ", &r->diagnosis->cannot_tell);
    write_lines(l, "  Next time: ", &r->diagnosis->record_better);
}

int dbr_report_text(FILE *out, const struct dbr_report *report, struct dbr_error *error)
{
    struct layout l = {out, report->width ? report->width : 80, report->color};

    layout_paragraph(&l, INK_BOLD, "", report->diagnosis->verdict.sentence);
    write_roots(&l, report);
    write_notes(&l, report);
    write_unknowns(&l, report);
    text_tables(&l, report);
    return report_written(out, error);
}
