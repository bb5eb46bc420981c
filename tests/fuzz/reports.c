/* reports.c - see reports.h. */
#include "fuzz/reports.h"

#include <stdlib.h>
#include <string.h>

#include "fuzz/target.h"
#include "fuzz/texts.h"
#include "reporting/reports.h"

static void line_must_hold(const char *text)
{
    MUST(text != NULL && text[0] != '\0');
    MUST_NOT(text_flaw(text, strlen(text), TEXT_LINE));
}

static void lines_must_hold(const struct dbr_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++)
        line_must_hold(lines->items[i]);
}

static void causes_must_hold(const struct dbr_diagnosis *d, size_t index)
{
    const struct dbr_finding *f = &d->findings[index];

    for (size_t i = 0; i < f->cause_count; i++)
        MUST(f->causes[i] < d->finding_count && f->causes[i] != index);
}

static void finding_must_hold(const struct report_wish *wish, const struct dbr_finding *f)
{
    line_must_hold(f->code);
    line_must_hold(f->title);
    lines_must_hold(&f->evidence);
    lines_must_hold(&f->checks);
    lines_must_hold(&f->cautions);
    MUST(f->severity <= DBR_FAULT && f->count >= 1);
    MUST(f->interface >= -1 && f->interface < (int)DBR_INTERFACES_MAX);
    MUST(f->interface < 0 || (size_t)f->interface < wish->info->interface_count);
    MUST(f->address >= -1 && f->address <= 255 && f->address_count <= 254);
    MUST(f->pgn >= -1 && f->pgn <= 0x3FFFF);
    MUST(!f->timed || (f->start_ns >= 0 && f->start_ns <= f->end_ns));
    MUST(!f->timed || f->end_ns <= wish->history->end_ns);
    MUST(wish->rig || !f->section);
}

static bool in_order(const struct dbr_finding *a, const struct dbr_finding *b)
{
    if (a->severity != b->severity)
        return a->severity > b->severity;
    if (a->timed != b->timed)
        return a->timed;
    return !a->timed || a->start_ns <= b->start_ns;
}

/* Follows the first causes: they must end, and where they end is a root. */
static void causes_must_end(const struct dbr_diagnosis *d, size_t index)
{
    for (size_t steps = 0; d->findings[index].cause_count > 0; steps++) {
        MUST(steps < d->finding_count);
        index = d->findings[index].causes[0];
    }
}

static void verdict_must_hold(const struct dbr_diagnosis *d)
{
    size_t roots = 0;

    for (size_t i = 0; i < d->finding_count; i++)
        roots += d->findings[i].severity > DBR_NOTE && d->findings[i].cause_count == 0;
    MUST(d->verdict.root_cause_count == roots);
    for (size_t i = 0; i < roots; i++) {
        size_t root = d->verdict.root_causes[i];
        MUST(root < d->finding_count && d->findings[root].cause_count == 0);
        MUST(d->findings[root].severity > DBR_NOTE);
        for (size_t k = 0; k < i; k++)
            MUST(d->verdict.root_causes[k] != root);
    }
    line_must_hold(d->verdict.sentence);
}

struct dbr_diagnosis *diagnosis_must_hold(const struct report_wish *wish)
{
    const struct dbr_diagnosis_options options = {.units = wish->units, .rig = wish->rig};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    struct dbr_diagnosis *d = dbr_diagnosis_new(wish->history, wish->info, &options, &error);

    MUST(d != NULL && d->finding_count <= DBR_FINDINGS_MAX);
    for (size_t i = 0; i < d->finding_count; i++) {
        finding_must_hold(wish, &d->findings[i]);
        MUST(i == 0 || in_order(&d->findings[i - 1], &d->findings[i]));
        causes_must_hold(d, i);
        causes_must_end(d, i);
    }
    verdict_must_hold(d);
    lines_must_hold(&d->cannot_tell);
    lines_must_hold(&d->record_better);
    return d;
}

static char *write_report(int (*write)(FILE *, const struct dbr_report *, struct dbr_error *),
                          const struct dbr_report *report, size_t *length)
{
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    char *text = NULL;
    FILE *out = open_memstream(&text, length);

    MUST(out != NULL);
    MUST(write(out, report, &error) == 0);
    MUST(fclose(out) == 0 && text != NULL && *length > 0);
    return text;
}

static struct dbr_report report_of(const struct report_wish *wish,
                                   const struct dbr_diagnosis *diagnosis)
{
    return (struct dbr_report){.info = wish->info,
                               .history = wish->history,
                               .diagnosis = diagnosis,
                               .rig = wish->rig,
                               .closeups = wish->closeups,
                               .bitrate = 250000,
                               .units = wish->units,
                               .width = 80};
}

void reports_must_hold(const struct report_wish *wish, const struct dbr_diagnosis *diagnosis)
{
    const struct dbr_report report = report_of(wish, diagnosis);
    size_t length = 0;

    for (size_t i = 0; i < report_form_count; i++) {
        bool is_page = report_forms[i].write == dbr_report_html;
        bool is_json = report_forms[i].write == dbr_report_json;
        if (is_page && !wish->page)
            continue;
        char *text = write_report(report_forms[i].write, &report, &length);
        MUST_NOT(is_json ? json_flaw(text, length)
                         : text_flaw(text, length, is_page ? TEXT_LAYOUT : TEXT_LINES));
        free(text);
    }
    char *devices = write_report(dbr_report_devices, &report, &length);
    MUST_NOT(text_flaw(devices, length, TEXT_LINES));
    free(devices);
}

char *report_json(const struct report_wish *wish, const struct dbr_diagnosis *diagnosis)
{
    const struct dbr_report report = report_of(wish, diagnosis);
    size_t length = 0;

    return write_report(dbr_report_json, &report, &length);
}
