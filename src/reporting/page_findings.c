/*
 * page_findings.c - findings in the page: root causes in full, then what stays open,
 * then all else. Each finding stands there once, with its number as anchor.
 */
#include "reporting/html_text.h"
#include "reporting/page.h"
#include "reporting/roots.h"

#define ROOTS_SHOWN 5u     /* further root causes fold: more are no longer a next step */
#define FINDINGS_SHOWN 50u /* further ones fold */

typedef struct dbr_lines lines_of(const struct dbr_finding *f);

static struct dbr_lines evidence_of(const struct dbr_finding *f)
{
    return f->evidence;
}

static struct dbr_lines checks_of(const struct dbr_finding *f)
{
    return f->checks;
}

static struct dbr_lines cautions_of(const struct dbr_finding *f)
{
    return f->cautions;
}

/* The lines of a finding as a list, in both units. */
static void write_lines(const struct page *p, size_t finding, lines_of *part, const char *open,
                        const char *close)
{
    struct dbr_lines metric = part(&p->texts[DBR_UNITS_METRIC]->findings[finding]);
    struct dbr_lines us = part(&p->texts[DBR_UNITS_US]->findings[finding]);

    if (metric.count == 0)
        return;
    fputs(open, p->out);
    for (size_t i = 0; i < metric.count; i++) {
        fputs("<li>", p->out);
        page_both(p, metric.items[i], i < us.count ? us.items[i] : metric.items[i]);
        fputs("</li>\n", p->out);
    }
    fputs(close, p->out);
}

static void write_title(const struct page *p, size_t finding)
{
    page_both(p, p->texts[DBR_UNITS_METRIC]->findings[finding].title,
              p->texts[DBR_UNITS_US]->findings[finding].title);
}

static void write_when(const struct page *p, size_t finding)
{
    const struct dbr_finding *f = &p->r->diagnosis->findings[finding];

    if (!f->timed)
        return;
    fputs("<p class=\"when\">", p->out);
    page_when(p, f);
    fprintf(p->out, " <button type=\"button\" class=\"show\" data-finding=\"%s%zu\" hidden>"
            "Show on the timeline</button></p>\n", p->prefix, finding + 1);
}

static void write_number(const struct page *p, size_t finding)
{
    fprintf(p->out, "<span class=\"number\">%zu</span> ", finding + 1);
}

static void write_link(const struct page *p, size_t finding)
{
    const struct dbr_finding *f = &p->r->diagnosis->findings[finding];

    fprintf(p->out, "<li><a href=\"#%sf%zu\">", p->prefix, finding + 1);
    write_number(p, finding);
    write_title(p, finding);
    fprintf(p->out, "</a> <span class=\"when\">%s", dbr_severity_name(f->severity));
    if (f->timed)
        fputs(", ", p->out);
    page_when(p, f);
    fputs("</span></li>\n", p->out);
}

static void write_consequences(const struct page *p, size_t position)
{
    const struct dbr_diagnosis *d = p->r->diagnosis;
    bool any = false;

    for (size_t i = 0; i < d->finding_count; i++) {
        if (p->root_of[i] != position || i == d->verdict.root_causes[position])
            continue;
        if (!any)
            fputs("<div class=\"because\"><h4>Because of it</h4><ul>\n", p->out);
        any = true;
        write_link(p, i);
    }
    if (any)
        fputs("</ul></div>\n", p->out);
}

static void write_as_for(const struct page *p, const char *what, size_t position)
{
    size_t finding = p->r->diagnosis->verdict.root_causes[position];

    fprintf(p->out, "<p class=\"as-for\">%s: as for <a href=\"#%sf%zu\">", what, p->prefix,
            finding + 1);
    write_number(p, finding);
    fputs("</a></p>\n", p->out);
}

/* Checks and cautions; those of a root before this one are not told again. */
static void write_advice(const struct page *p, size_t finding, size_t position)
{
    const struct dbr_diagnosis *d = p->r->diagnosis;
    size_t cautions = roots_told_cautions(d, position), checks = roots_told_checks(d, position);

    fputs("<div class=\"todo\">\n", p->out);
    if (cautions < position && d->findings[finding].cautions.count > 0)
        write_as_for(p, "Before you start", cautions);
    else
        write_lines(p, finding, cautions_of, "<div class=\"cautions\"><h4>Before you start</h4><ul>\n",
                    "</ul></div>\n");
    if (checks < position && d->findings[finding].checks.count > 0)
        write_as_for(p, "What to check next", checks);
    else
        write_lines(p, finding, checks_of, "<div class=\"checks\"><h4>What to check next</h4><ol>\n",
                    "</ol></div>\n");
    fputs("</div>\n", p->out);
}

static void write_root(const struct page *p, size_t position)
{
    size_t finding = p->r->diagnosis->verdict.root_causes[position];
    const struct dbr_finding *f = &p->r->diagnosis->findings[finding];

    fprintf(p->out, "<article class=\"finding %s\" id=\"%sf%zu\">\n<h3>",
            dbr_severity_name(f->severity), p->prefix, finding + 1);
    write_number(p, finding);
    page_severity(p, f->severity);
    write_title(p, finding);
    fputs("</h3>\n", p->out);
    write_when(p, finding);
    write_lines(p, finding, evidence_of, "<ul class=\"evidence\">\n", "</ul>\n");
    page_closeups(p, finding);
    write_advice(p, finding, position);
    write_consequences(p, position);
    fputs("</article>\n", p->out);
}

void page_causes(const struct page *p)
{
    size_t count = p->r->diagnosis->verdict.root_cause_count;

    for (size_t i = 0; i < count; i++) {
        if (i == ROOTS_SHOWN)
            fprintf(p->out, "<details class=\"more\"><summary>%zu further causes</summary>\n",
                    count - ROOTS_SHOWN);
        write_root(p, i);
    }
    if (count > ROOTS_SHOWN)
        fputs("</details>\n", p->out);
}

static void write_open_list(const struct page *p, const char *heading, const struct dbr_lines *lines)
{
    if (lines->count == 0)
        return;
    fprintf(p->out, "<div><h3>%s</h3><ul>\n", heading);
    for (size_t i = 0; i < lines->count; i++) {
        fputs("<li>", p->out);
        html_text(p->out, lines->items[i]);
        fputs("</li>\n", p->out);
    }
    fputs("</ul></div>\n", p->out);
}

void page_open(const struct page *p)
{
    write_open_list(p, "What this recording cannot tell", &p->r->diagnosis->cannot_tell);
    write_open_list(p, "For the next recording", &p->r->diagnosis->record_better);
}

static bool is_root(const struct dbr_diagnosis *d, size_t finding)
{
    for (size_t i = 0; i < d->verdict.root_cause_count; i++)
        if (d->verdict.root_causes[i] == finding)
            return true;
    return false;
}

static void write_causes_of(const struct page *p, const struct dbr_finding *f)
{
    if (f->cause_count == 0)
        return;
    fputs("<p>Because of ", p->out);
    for (size_t i = 0; i < f->cause_count; i++) {
        fprintf(p->out, "%s<a href=\"#%sf%zu\">", i > 0 ? ", " : "", p->prefix, f->causes[i] + 1);
        write_number(p, f->causes[i]);
        fputs("</a>", p->out);
    }
    fputs("</p>\n", p->out);
}

/* A finding that is no root cause: its title, and folded in it all the rest. */
static void write_other(const struct page *p, size_t finding)
{
    const struct dbr_finding *f = &p->r->diagnosis->findings[finding];

    fprintf(p->out, "<details class=\"finding %s\" id=\"%sf%zu\"><summary>",
            dbr_severity_name(f->severity), p->prefix, finding + 1);
    write_number(p, finding);
    page_severity(p, f->severity);
    write_title(p, finding);
    fputs("</summary>\n", p->out);
    write_when(p, finding);
    write_causes_of(p, f);
    write_lines(p, finding, evidence_of, "<ul class=\"evidence\">\n", "</ul>\n");
    page_closeups(p, finding);
    write_lines(p, finding, cautions_of, "<h4>Before you start</h4><ul>\n", "</ul>\n");
    write_lines(p, finding, checks_of, "<h4>What to check next</h4><ol>\n", "</ol>\n");
    fputs("</details>\n", p->out);
}

void page_findings(const struct page *p)
{
    const struct dbr_diagnosis *d = p->r->diagnosis;
    size_t others = d->finding_count - d->verdict.root_cause_count, shown = 0;

    if (others == 0)
        fputs("<p>Nothing else was found.</p>\n", p->out);
    for (size_t i = 0; i < d->finding_count; i++) {
        if (is_root(d, i))
            continue;
        if (shown++ == FINDINGS_SHOWN)
            fprintf(p->out, "<details class=\"more\"><summary>%zu further findings</summary>\n",
                    others - FINDINGS_SHOWN);
        write_other(p, i);
    }
    if (others > FINDINGS_SHOWN)
        fputs("</details>\n", p->out);
    if (d->findings_dropped > 0)
        fprintf(p->out, "<p>%llu further findings are counted only.</p>\n",
                (unsigned long long)d->findings_dropped);
}
