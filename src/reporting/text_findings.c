/*
 * text_findings.c - see text_findings.h.
 *
 * A root cause is told in full, what to do before what follows from it: whoever
 * reads no further has read enough.
 */
#include "reporting/text_findings.h"

#include <inttypes.h>
#include <stdlib.h>
#include <time.h>

#include "reporting/roots.h"

#define WHEN_MAX 96u
#define TITLE_MAX 640u
#define MOMENT_NS INT64_C(50000000) /* shorter than the 0.1 s that is printed: "at" */
#define INDENT "         "          /* as wide as the words of severity */

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
        snprintf(out, size, ", from %.1f s%s to the end", start, from);
    else if (f->end_ns - f->start_ns < MOMENT_NS)
        snprintf(out, size, ", at %.1f s%s", start, from);
    else
        snprintf(out, size, ", from %.1f s%s to %.1f s%s", start, from, end, to);
}

/* `first`, then the title and when it was. */
static void write_title(const struct layout *l, const struct dbr_recording_info *info,
                        const struct dbr_finding *f, enum ink ink, const char *first)
{
    char when[WHEN_MAX], title[TITLE_MAX];

    when_text(when, sizeof when, info, f);
    snprintf(title, sizeof title, "%s%s", f->title, when);
    layout_paragraph(l, ink, first, title);
}

static void write_headed(const struct layout *l, const struct dbr_recording_info *info,
                         const struct dbr_finding *f)
{
    static const struct {
        const char *word; /* tells the severity without colour */
        enum ink ink;
    } heads[] = {[DBR_NOTE] = {"note     ", INK_PLAIN},
                 [DBR_WARNING] = {"WARNING  ", INK_WARNING},
                 [DBR_FAULT] = {"FAULT    ", INK_FAULT}};

    write_title(l, info, f, heads[f->severity].ink, heads[f->severity].word);
}

static void write_cautions(const struct layout *l, const struct dbr_lines *lines)
{
    if (lines->count > 0)
        layout_line(l, INDENT "Before you start:");
    for (size_t i = 0; i < lines->count; i++)
        layout_paragraph(l, INK_PLAIN, INDENT "  - ", lines->items[i]);
}

static void write_checks(const struct layout *l, const struct dbr_lines *lines)
{
    char number[40];

    if (lines->count > 0)
        layout_line(l, INDENT "What to check next:");
    for (size_t i = 0; i < lines->count; i++) {
        snprintf(number, sizeof number, INDENT "%2zu. ", i + 1);
        layout_paragraph(l, INK_PLAIN, number, lines->items[i]);
    }
}

/* Cautions and checks; what a root cause before this one has told is not repeated. */
static void write_advice(const struct layout *l, const struct dbr_diagnosis *d, size_t position)
{
    const struct dbr_finding *f = &d->findings[d->verdict.root_causes[position]];
    bool cautions_told = f->cautions.count > 0 && roots_told_cautions(d, position) < position;
    bool checks_told = f->checks.count > 0 && roots_told_checks(d, position) < position;

    if (cautions_told && checks_told) {
        layout_line(l, INDENT "Before you start, and what to check next: as above.");
        return;
    }
    if (cautions_told)
        layout_line(l, INDENT "Before you start: as above.");
    else
        write_cautions(l, &f->cautions);
    if (checks_told)
        layout_line(l, INDENT "What to check next: as above.");
    else
        write_checks(l, &f->checks);
}

static void write_consequences(const struct layout *l, const struct dbr_report *r,
                               const size_t *root_of, size_t position)
{
    const struct dbr_diagnosis *d = r->diagnosis;
    char first[40];
    bool any = false;

    for (size_t i = 0; i < d->finding_count; i++) {
        const struct dbr_finding *f = &d->findings[i];
        if (root_of[i] != position || i == d->verdict.root_causes[position])
            continue;
        if (!any)
            layout_line(l, INDENT "Because of it:");
        any = true;
        snprintf(first, sizeof first, INDENT "  - %s: ", dbr_severity_name(f->severity));
        write_title(l, r->info, f, INK_PLAIN, first);
    }
}

static void write_root(const struct layout *l, const struct dbr_report *r, const size_t *root_of,
                       size_t position)
{
    const struct dbr_finding *f =
        &r->diagnosis->findings[r->diagnosis->verdict.root_causes[position]];

    fputc('\n', l->out);
    write_headed(l, r->info, f);
    for (size_t i = 0; i < f->evidence.count; i++)
        layout_paragraph(l, INK_PLAIN, INDENT, f->evidence.items[i]);
    write_advice(l, r->diagnosis, position);
    write_consequences(l, r, root_of, position);
}

/* Notes, in the main; and whatever else no root cause explains: nothing is left out. */
static void write_rest(const struct layout *l, const struct dbr_report *r, const size_t *root_of)
{
    const struct dbr_diagnosis *d = r->diagnosis;
    bool any = false;

    for (size_t i = 0; i < d->finding_count; i++) {
        if (root_of[i] < d->verdict.root_cause_count)
            continue;
        if (!any)
            fputc('\n', l->out);
        any = true;
        write_headed(l, r->info, &d->findings[i]);
    }
    if (d->findings_dropped > 0)
        layout_line(l, "\n%" PRIu64 " further findings are counted only.", d->findings_dropped);
}

int text_findings(const struct layout *l, const struct dbr_report *r, struct dbr_error *error)
{
    size_t *root_of = roots_find(r->diagnosis);

    if (!root_of)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    for (size_t i = 0; i < r->diagnosis->verdict.root_cause_count; i++)
        write_root(l, r, root_of, i);
    write_rest(l, r, root_of);
    free(root_of);
    return 0;
}
