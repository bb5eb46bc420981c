/* page_compare.c - two recordings on one page: what became of each finding, both timelines. */
#include <math.h>
#include <string.h>

#include "reporting/html_text.h"
#include "reporting/page.h"
#include "reporting/reports.h"

#define MOTION_MPS 0.5 /* as for the tracking: walking pace, above the noise of a standing sensor */

struct compare_page {
    const struct dbr_comparison *c;
    struct page before, after;
};

/* When a source first reads a speed of a moving machine; -1 where none ever does. */
static int64_t first_motion(const struct dbr_history *h)
{
    int64_t first = -1;

    for (size_t i = 0; i < h->series.count; i++) {
        const struct dbr_series *s = &h->series.items[i];
        if (s->quantity != DBR_QUANTITY_SPEED || isnan(s->max) || s->max < MOTION_MPS)
            continue;
        for (size_t k = 0; k < s->bucket_count; k++) {
            struct dbr_bucket b = dbr_series_bucket(s, k);
            int64_t at = (int64_t)k * h->series.bucket_ns;
            if (first >= 0 && at >= first)
                break;
            if (b.state == DBR_BUCKET_VALUE && b.max >= MOTION_MPS)
                first = at;
        }
    }
    return first;
}

/* Both pictures show as much before and after the first motion as either has. */
static void align(struct page *before, struct page *after)
{
    int64_t motion[2] = {first_motion(before->r->history), first_motion(after->r->history)};
    bool both = motion[0] >= 0 && motion[1] >= 0;
    int64_t zero[2] = {both ? motion[0] : 0, both ? motion[1] : 0};
    int64_t tails[2] = {before->r->history->end_ns - zero[0], after->r->history->end_ns - zero[1]};
    int64_t lead = zero[0] > zero[1] ? zero[0] : zero[1];
    int64_t tail = tails[0] > tails[1] ? tails[0] : tails[1];
    struct page *pages[2] = {before, after};

    for (int i = 0; i < 2; i++) {
        pages[i]->from_ns = zero[i] - lead;
        pages[i]->span_ns = lead + tail;
        pages[i]->motion_ns = both ? motion[i] : -1;
    }
}

static const struct {
    const char *mark, *word, *class;
} changes[] = {[DBR_CHANGE_GONE] = {"&#10003;", "Gone", "gone"},
               [DBR_CHANGE_STILL] = {"&#9632;", "Still there", "fault"},
               [DBR_CHANGE_NEW] = {"+", "New", "fault"},
               [DBR_CHANGE_CANNOT_TELL] = {"?", "Cannot tell", "warning"}};

static size_t index_of(const struct page *p, const struct dbr_finding *f)
{
    return (size_t)(f - p->r->diagnosis->findings);
}

static void write_side(const struct page *p, const char *word, const struct dbr_finding *f)
{
    if (!f)
        return;
    size_t i = index_of(p, f);
    fprintf(p->out, "<li>%s: <a href=\"#%sf%zu\"><span class=\"number\">%zu</span> ", word,
            p->prefix, i + 1, i + 1);
    page_both(p, p->texts[DBR_UNITS_METRIC]->findings[i].title,
              p->texts[DBR_UNITS_US]->findings[i].title);
    fputs("</a> <span class=\"when\">", p->out);
    page_when(p, f);
    fputs("</span></li>\n", p->out);
}

static void write_row(const struct compare_page *c, const struct dbr_comparison_row *row)
{
    FILE *out = c->before.out;
    const struct page *p = row->after ? &c->after : &c->before;
    size_t i = index_of(p, comparison_told(row));
    char severity[48];

    fprintf(out, "<article class=\"finding %s\">\n<h3><span class=\"severity %s\">"
            "<span aria-hidden=\"true\">%s</span> %s</span> ", changes[row->change].class,
            changes[row->change].class, changes[row->change].mark, changes[row->change].word);
    fprintf(out, "%s: ", comparison_severity(severity, sizeof severity, row));
    page_both(p, p->texts[DBR_UNITS_METRIC]->findings[i].title,
              p->texts[DBR_UNITS_US]->findings[i].title);
    fputs("</h3>\n", out);
    if (row->why) {
        fputs("<p>", out);
        html_text(out, row->why);
        fputs("</p>\n", out);
    }
    fputs("<ul class=\"evidence\">\n", out);
    write_side(&c->before, "before", row->before);
    write_side(&c->after, "after", row->after);
    fputs("</ul>\n</article>\n", out);
}

static void write_changes(const struct compare_page *c)
{
    if (c->c->row_count == 0)
        fputs("<p>Neither recording has a finding at fault or warning level.</p>\n", c->before.out);
    for (size_t i = 0; i < c->c->row_count; i++)
        write_row(c, &c->c->rows[i]);
}

static void write_alignment(const struct compare_page *c)
{
    fputs(c->before.motion_ns >= 0
              ? "<p>Both are set side by side at their first motion; each keeps its own time.</p>\n"
              : "<p>One of them never moves, so both are set side by side at their first "
                "frame.</p>\n", c->before.out);
}

static void cell_source(struct page_table *t, const struct dbr_speed_source *s)
{
    page_cell_open(t);
    if (!s) {
        fputs("absent", t->p->out);
        return;
    }
    fprintf(t->p->out, "%s, at most ", dbr_speed_state_words(s->state));
    page_speed(t->p, s->max_mps);
}

static void row_source(struct page_table *t, const struct dbr_speed_source *s,
                       const struct dbr_speed_source *before, const struct dbr_speed_source *after)
{
    page_row_open(t, NULL);
    page_cell_text(t, "%s (%u)", dbr_speed_kind_name(s->kind), s->address);
    cell_source(t, before);
    cell_source(t, after);
    page_row_close(t);
}

static void write_sources(const struct compare_page *c)
{
    static const char *const heads[] = {"Source", "before", "after", NULL};
    const struct dbr_history *b = c->c->before.history, *a = c->c->after.history;
    struct page_table t = page_table_open(&c->before, "Speed sources", heads);

    for (size_t i = 0; i < b->source_count; i++)
        row_source(&t, &b->sources[i], &b->sources[i], dbr_history_source_like(a, &b->sources[i]));
    for (size_t i = 0; i < a->source_count; i++)
        if (!dbr_history_source_like(b, &a->sources[i]))
            row_source(&t, &a->sources[i], NULL, &a->sources[i]);
    page_table_close(&t);
}

static void write_chains(const struct compare_page *c)
{
    static const char *const heads[] = {"Link", "before", "after", NULL};
    const struct dbr_history *b = c->c->before.history, *a = c->c->after.history;

    if (b->implement_count == 0 && a->implement_count == 0)
        return;
    struct page_table t = page_table_open(&c->before, "Chain: how long each link held", heads);
    for (int k = 0; k < DBR_LINKS; k++) {
        enum dbr_link link = (enum dbr_link)k;
        char held[32];
        page_row_open(&t, NULL);
        page_cell_text(&t, "%s", dbr_link_words(link));
        page_cell_text(&t, "%s", comparison_held(held, sizeof held, b, link));
        page_cell_text(&t, "%s", comparison_held(held, sizeof held, a, link));
        page_row_close(&t);
    }
    page_table_close(&t);
}

static void write_tables(const struct compare_page *c)
{
    write_sources(c);
    write_chains(c);
}

static void write_sentence(const struct compare_page *c)
{
    char sentence[256];

    html_text(c->before.out, comparison_sentence(sentence, sizeof sentence, c->c));
}

static void write_worst(const struct compare_page *c)
{
    fputs(c->c->repaired ? "sound" : "fault", c->before.out);
}

static void write_units(const struct compare_page *c)
{
    fputs(c->before.r->units == DBR_UNITS_US ? "us" : "metric", c->before.out);
}

static void write_key(const struct compare_page *c)
{
    page_key(c->before.r->history->timed ? &c->before : &c->after);
}

static const struct {
    const char *name;
    void (*write)(const struct compare_page *c);
} slots[] = {{"changes", write_changes}, {"alignment", write_alignment},
             {"tables", write_tables},   {"sentence", write_sentence},
             {"worst", write_worst},     {"units", write_units},
             {"key", write_key}};

static const struct {
    const char *name; /* after "before-" or "after-" */
    void (*write)(const struct page *p);
} side_slots[] = {{"title", page_title},     {"picture", page_picture}, {"causes", page_causes},
                  {"findings", page_findings}, {"recording", page_recording},
                  {"aligned", page_aligned}};

static bool is_name(const char *slot, size_t length, const char *name)
{
    return strlen(name) == length && strncmp(slot, name, length) == 0;
}

static int fill_side(const struct page *p, const char *slot, size_t length)
{
    if (is_name(slot, length, "data"))
        return page_data(p);
    for (size_t i = 0; i < sizeof side_slots / sizeof side_slots[0]; i++)
        if (is_name(slot, length, side_slots[i].name))
            side_slots[i].write(p);
    return 0;
}

static int fill(void *context, const char *slot, size_t length)
{
    const struct compare_page *c = context;
    const struct page *sides[] = {&c->before, &c->after};

    for (size_t i = 0; i < 2; i++) {
        size_t prefix = strlen(sides[i]->prefix);
        if (length > prefix && strncmp(slot, sides[i]->prefix, prefix) == 0)
            return fill_side(sides[i], slot + prefix, length - prefix);
    }
    for (size_t i = 0; i < sizeof slots / sizeof slots[0]; i++)
        if (is_name(slot, length, slots[i].name))
            slots[i].write(c);
    return 0;
}

int dbr_compare_html(FILE *out, const struct dbr_comparison *comparison,
                     const struct dbr_report *before, const struct dbr_report *after,
                     struct dbr_error *error)
{
    struct compare_page c = {.c = comparison};
    int status = page_prepare(&c.before, out, before, error);

    if (status == 0)
        status = page_prepare(&c.after, out, after, error);
    if (status == 0) {
        c.before.prefix = "before-";
        c.after.prefix = "after-";
        align(&c.before, &c.after);
        status = page_template(out, "compare.html", fill, &c, error);
    }
    if (status == 0)
        status = page_whole(&c.before, error);
    if (status == 0)
        status = page_whole(&c.after, error);
    page_release(&c.before);
    page_release(&c.after);
    return status < 0 ? -1 : report_written(out, error);
}
