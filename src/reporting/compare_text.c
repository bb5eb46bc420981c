/* compare_text.c - the comparison for a terminal. */
#include <math.h>
#include <string.h>

#include "diagnosis/units.h"
#include "reporting/layout.h"
#include "reporting/reports.h"

static const char *change_word(enum dbr_change change)
{
    switch (change) {
    case DBR_CHANGE_GONE:
        return "gone         ";
    case DBR_CHANGE_STILL:
        return "STILL THERE  ";
    case DBR_CHANGE_NEW:
        return "NEW          ";
    case DBR_CHANGE_CANNOT_TELL:
        break;
    }
    return "CANNOT TELL  ";
}

const struct dbr_finding *comparison_told(const struct dbr_comparison_row *row)
{
    return row->after ? row->after : row->before;
}

bool comparison_worse(const struct dbr_comparison_row *row)
{
    return row->before && row->after && row->after->severity > row->before->severity;
}

const char *comparison_severity(char *out, size_t size, const struct dbr_comparison_row *row)
{
    enum dbr_severity now = comparison_told(row)->severity;

    if (!row->before || row->before->severity == now)
        return dbr_severity_name(now);
    snprintf(out, size, "%s (%sa %s before)", dbr_severity_name(now),
             comparison_worse(row) ? "worse: " : "", dbr_severity_name(row->before->severity));
    return out;
}

/* Faults of before by what became of them, and those that are faults only now. */
struct tally {
    size_t changes[DBR_CHANGE_CANNOT_TELL + 1], weaker, worse;
};

static struct tally tally_faults(const struct dbr_comparison *c)
{
    struct tally t = {0};

    for (size_t i = 0; i < c->row_count; i++) {
        const struct dbr_comparison_row *row = &c->rows[i];
        const struct dbr_finding *f = row->before ? row->before : row->after;
        t.changes[row->change] += f->severity == DBR_FAULT;
        t.weaker += f->severity == DBR_FAULT && comparison_told(row)->severity < DBR_FAULT;
        t.worse += comparison_worse(row);
    }
    return t;
}

/* "1 warning of before is a fault now" and the like; "": there is none. */
static const char *worse_words(char *out, size_t size, size_t worse)
{
    out[0] = '\0';
    if (worse > 0)
        snprintf(out, size, "%zu warning%s of before %s now", worse, worse == 1 ? "" : "s",
                 worse == 1 ? "is a fault" : "are faults");
    return out;
}

const char *comparison_sentence(char *out, size_t size, const struct dbr_comparison *c)
{
    struct tally t = tally_faults(c);
    size_t gone = t.changes[DBR_CHANGE_GONE], still = t.changes[DBR_CHANGE_STILL];
    size_t fresh = t.changes[DBR_CHANGE_NEW], open = t.changes[DBR_CHANGE_CANNOT_TELL];
    char worse[64], weaker[48] = "";

    worse_words(worse, sizeof worse, t.worse);
    if (t.weaker > 0)
        snprintf(weaker, sizeof weaker, " (%zu as a warning)", t.weaker);
    if (c->repaired && gone > 0)
        snprintf(out, size, "The repair held: all %zu faults of before are gone, and none is new.",
                 gone);
    else if (c->repaired)
        snprintf(out, size, "No fault before, and none after.");
    else if (gone + still + fresh + open == 0)
        snprintf(out, size, "No fault before, but worse after: %s.", worse);
    else
        snprintf(out, size, "Not proven repaired: of the faults, %zu gone, %zu still there%s, %zu "
                            "new, %zu that the recording after cannot tell%s%s.",
                 gone, still, weaker, fresh, open, worse[0] ? "; " : "", worse);
    return out;
}

static void write_row(const struct layout *l, const struct dbr_comparison_row *row)
{
    enum ink ink = row->change == DBR_CHANGE_GONE          ? INK_PLAIN
                   : row->change == DBR_CHANGE_CANNOT_TELL ? INK_WARNING
                                                           : INK_FAULT;
    char text[640], severity[48];

    snprintf(text, sizeof text, "%s: %s%s%s", comparison_severity(severity, sizeof severity, row),
             comparison_told(row)->title, row->why ? ": " : "", row->why ? row->why : "");
    layout_paragraph(l, ink, change_word(row->change), text);
}

static void speed_text(char *out, size_t size, const struct dbr_speed_source *s,
                       enum dbr_units units)
{
    char top[UNITS_TEXT_MAX];

    if (!s)
        snprintf(out, size, "absent");
    else if (isnan(s->max_mps))
        snprintf(out, size, "%s", dbr_speed_state_words(s->state));
    else
        snprintf(out, size, "%s, %s", dbr_speed_state_words(s->state),
                 units_speed(top, units, s->max_mps));
}

static void write_source(const struct layout *l, enum dbr_units units,
                         const struct dbr_speed_source *s, const struct dbr_speed_source *before,
                         const struct dbr_speed_source *after)
{
    char name[48], texts[2][48];

    snprintf(name, sizeof name, "%s (%u)", dbr_speed_kind_name(s->kind), s->address);
    speed_text(texts[0], sizeof texts[0], before, units);
    speed_text(texts[1], sizeof texts[1], after, units);
    layout_line(l, "  %-22s %-25s %s", name, texts[0], texts[1]);
}

static void write_sources(const struct layout *l, const struct dbr_comparison *c,
                          enum dbr_units units)
{
    const struct dbr_history *b = c->before.history, *a = c->after.history;

    layout_heading(l, "Speed sources (state, highest)");
    layout_line(l, "  %-22s %-25s %s", "", "before", "after");
    for (size_t i = 0; i < b->source_count; i++)
        write_source(l, units, &b->sources[i], &b->sources[i],
                     dbr_history_source_like(a, &b->sources[i]));
    for (size_t i = 0; i < a->source_count; i++)
        if (!dbr_history_source_like(b, &a->sources[i]))
            write_source(l, units, &a->sources[i], NULL, &a->sources[i]);
}

const char *comparison_held(char *out, size_t size, const struct dbr_history *h,
                            enum dbr_link link)
{
    int64_t sum = 0;

    for (size_t i = 0; i < h->implement_count; i++)
        sum += dbr_link_time_ns(&h->implements[i].links[link], DBR_ANSWER_HELD);
    if (!h->timed)
        snprintf(out, size, "unknown");
    else if (h->implement_count == 0)
        snprintf(out, size, "no implement");
    else
        snprintf(out, size, "%.1f s", (double)sum / 1e9);
    return out;
}

static void write_chains(const struct layout *l, const struct dbr_comparison *c)
{
    if (c->before.history->implement_count == 0 && c->after.history->implement_count == 0)
        return;
    layout_heading(l, "Chain (how long each link held)");
    layout_line(l, "  %-22s %-25s %s", "", "before", "after");
    for (int k = 0; k < DBR_LINKS; k++) {
        enum dbr_link link = (enum dbr_link)k;
        char before[32], after[32];
        layout_line(l, "  %-22s %-25s %s", dbr_link_words(link),
                    comparison_held(before, sizeof before, c->before.history, link),
                    comparison_held(after, sizeof after, c->after.history, link));
    }
}

/* What was lost at its end, a finding may lack. */
static void write_ends(const struct layout *l, const char *when, const struct dbr_side *side)
{
    char words[48];

    for (size_t i = 0; i < side->info->file_count; i++) {
        const struct dbr_file_info *file = &side->info->files[i];
        if (!file->truncated)
            continue;
        snprintf(words, sizeof words, "the recording %s ends early: ", when);
        layout_paragraph(l, INK_PLAIN, words, file->truncated_why);
    }
}

int dbr_compare_text(FILE *out, const struct dbr_comparison *c, enum dbr_units units, bool color,
                     struct dbr_error *error)
{
    struct layout l = {out, 80, color};
    char sentence[256];

    layout_paragraph(&l, INK_BOLD, "", comparison_sentence(sentence, sizeof sentence, c));
    write_ends(&l, "before", &c->before);
    write_ends(&l, "after", &c->after);
    fputc('\n', out);
    for (size_t i = 0; i < c->row_count; i++)
        write_row(&l, &c->rows[i]);
    write_sources(&l, c, units);
    write_chains(&l, c);
    return report_written(out, error);
}
