/*
 * page.c - the report as one page that opens anywhere: no request leaves it, scripts
 * only add to what stands there already.
 */
#include "reporting/page.h"

#include <string.h>

#include "reporting/html_text.h"
#include "reporting/json.h"
#include "reporting/reports.h"
#include "reporting/series_code.h"

void page_title(const struct page *p)
{
    const struct dbr_recording_info *info = p->r->info;
    const char *path = info->file_count > 0 ? info->files[0].path : "";
    const char *slash = strrchr(path, '/');

    html_text(p->out, slash ? slash + 1 : path);
    if (info->file_count > 1)
        fprintf(p->out, " and %zu more", info->file_count - 1);
}

static void write_units(const struct page *p)
{
    fputs(p->r->units == DBR_UNITS_US ? "us" : "metric", p->out);
}

static void write_sentence(const struct page *p)
{
    page_both(p, p->texts[DBR_UNITS_METRIC]->verdict.sentence,
              p->texts[DBR_UNITS_US]->verdict.sentence);
}

static const char *worst(const struct page *p)
{
    const struct dbr_diagnosis *d = p->r->diagnosis;
    enum dbr_severity most = DBR_NOTE;

    for (size_t i = 0; i < d->finding_count; i++)
        if (d->findings[i].severity > most)
            most = d->findings[i].severity;
    return most == DBR_NOTE ? "sound" : dbr_severity_name(most);
}

static void write_worst(const struct page *p)
{
    fputs(worst(p), p->out);
}

/* Start, length, frames: which recording this is, in one line. */
static void write_facts(const struct page *p)
{
    const struct dbr_recording_info *info = p->r->info;
    char clock[32];

    if (info->time_base == DBR_TIME_NONE)
        fputs("without time stamps", p->out);
    else
        fprintf(p->out, "%.1f s", (double)info->last_ns / 1e9);
    if (*page_clock(clock, sizeof clock, info, 0))
        fprintf(p->out, " from %s UTC", clock);
    fprintf(p->out, ", %llu frames", (unsigned long long)info->frames);
}

/* Beyond some moments the page would grow too heavy for a telephone. */
static void write_closeup_note(const struct page *p)
{
    size_t all = p->r->closeups ? dbr_closeups_count(p->r->closeups) : 0;

    if (p->drawn < all)
        fprintf(p->out, "<p>Speeds stand as they came around the first %zu of %zu moments of "
                "findings, root causes first; elsewhere the curves go by their steps.</p>\n",
                p->drawn, all);
}

static void write_timeline_note(const struct page *p)
{
    write_closeup_note(p);
    if (!p->r->history->timed)
        fputs("<p>This recording has no time stamps, so there is no timeline: what it says in "
              "figures stands in the tables.</p>\n", p->out);
    else if (p->r->history->end_ns == 0)
        fputs("<p>This recording is a single moment, so there is no timeline.</p>\n", p->out);
}

/* From when to when the timeline goes, and where two are aligned; in seconds. */
void page_aligned(const struct page *p)
{
    fprintf(p->out, "%.3f %.3f", (double)p->from_ns / 1e9,
            (double)(p->from_ns + p->span_ns) / 1e9);
    if (p->motion_ns >= 0)
        fprintf(p->out, " %.3f", (double)p->motion_ns / 1e9);
}

static const struct {
    const char *name;
    void (*write)(const struct page *p);
} slots[] = {
    {"title", page_title},        {"units", write_units},
    {"sentence", write_sentence}, {"facts", write_facts},
    {"worst", write_worst},       {"causes", page_causes},
    {"open", page_open},          {"timeline-note", write_timeline_note},
    {"picture", page_picture},    {"findings", page_findings},
    {"chains", page_chains},      {"ecus", page_ecus},
    {"codes", page_codes},        {"sources", page_sources},
    {"messages", page_messages},
    {"recording", page_recording}, {"aligned", page_aligned},    {"key", page_key},
};

int page_data(const struct page *p)
{
    cJSON *root = json_report(p->r);
    json_add_series(root, p->r);
    json_add_closeups(root, p->r, p->drawn);
    char *text = cJSON_PrintUnformatted(root);

    cJSON_Delete(root);
    if (!text)
        return -1;
    html_json(p->out, text);
    cJSON_free(text);
    return 0;
}

static int fill(void *context, const char *slot, size_t length)
{
    struct page *p = context;

    if (length == 4 && strncmp(slot, "data", length) == 0)
        return page_data(p);
    for (size_t i = 0; i < sizeof slots / sizeof slots[0]; i++)
        if (strlen(slots[i].name) == length && strncmp(slots[i].name, slot, length) == 0)
            slots[i].write(p);
    return 0;
}

int dbr_report_html(FILE *out, const struct dbr_report *report, struct dbr_error *error)
{
    struct page p;
    int status = page_prepare(&p, out, report, error);

    if (status == 0)
        status = page_template(out, "page.html", fill, &p, error);
    if (status == 0)
        status = page_whole(&p, error);
    page_release(&p);
    return status < 0 ? -1 : report_written(out, error);
}
