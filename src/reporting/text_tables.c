/* text_tables.c - see text_tables.h. What is unknown says so. */
#include "reporting/text_tables.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reporting/clean.h"

#define CELL_MAX 96u

/* A copy that fits `width` columns; the cut is marked. */
static const char *fit(char *out, const char *text, unsigned width)
{
    char clean[CELL_MAX];
    size_t used = 0;

    for (clean_text(clean, sizeof clean, text); clean[used] && used < width;)
        used += utf8_length(clean + used);
    if (clean[used])
        snprintf(out, CELL_MAX, "%.*s~", (int)(width - 1), clean);
    else
        snprintf(out, CELL_MAX, "%s", clean);
    return out;
}

static const char *seconds(char *out, const struct dbr_history *h, int64_t ns)
{
    if (h->timed)
        snprintf(out, CELL_MAX, "%.1f", (double)ns / 1e9);
    else
        snprintf(out, CELL_MAX, "unknown");
    return out;
}

static void table_ecus(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    char label[CELL_MAX], cell[CELL_MAX], name[24], first[CELL_MAX], last[CELL_MAX];

    layout_heading(l, "ECUs");
    if (h->ecu_count == 0)
        layout_line(l, "  none");
    else
        layout_line(l, "  %-30s %-16s %9s %8s %8s", "", "NAME", "messages", "first s", "last s");
    for (size_t i = 0; i < h->ecu_count; i++) {
        const struct dbr_ecu *ecu = &h->ecus[i];
        dbr_ecu_label(label, sizeof label, ecu);
        snprintf(name, sizeof name, "not seen");
        if (ecu->name_count > 0)
            snprintf(name, sizeof name, "%016" PRIX64, ecu->names[ecu->name_count - 1]);
        layout_line(l, "  %-30s %-16s %9" PRIu64 " %8s %8s", fit(cell, label, 30), name,
                    ecu->frames, seconds(first, h, ecu->first_ns), seconds(last, h, ecu->last_ns));
    }
}

/* How long a link held and failed, in all. */
static void table_link(const struct layout *l, enum dbr_link link,
                       const struct dbr_link_story *story)
{
    double seconds[DBR_ANSWER_HELD + 1] = {0};
    const struct dbr_link_interval *failed = NULL;

    for (size_t i = 0; i < story->count; i++) {
        const struct dbr_link_interval *interval = &story->items[i];
        seconds[interval->answer] += (double)(interval->end_ns - interval->start_ns) / 1e9;
        bool longest = !failed || interval->end_ns - interval->start_ns >
                                      failed->end_ns - failed->start_ns;
        if (interval->answer == DBR_ANSWER_FAILED && longest)
            failed = interval;
    }
    layout_line(l, "  %-11s %7.1f s %7.1f s %7.1f s  %s", dbr_link_name(link),
                seconds[DBR_ANSWER_HELD], seconds[DBR_ANSWER_FAILED],
                seconds[DBR_ANSWER_UNKNOWN],
                failed ? dbr_link_reason_words(failed->reason) : "");
}

/* 1 kg/m2 is 10 000 kg/ha, or 8921.79 lb/ac (0.45359237 kg, 4046.8564224 m2). */
static const char *rate(char *out, const struct dbr_report *r, double kg_m2)
{
    if (isnan(kg_m2))
        snprintf(out, CELL_MAX, "unknown");
    else if (r->units == DBR_UNITS_US)
        snprintf(out, CELL_MAX, "%.1f lb/ac", kg_m2 * 4046.8564224 / 0.45359237);
    else
        snprintf(out, CELL_MAX, "%.1f kg/ha", kg_m2 * 1e4);
    return out;
}

static const char *turns(char *out, double per_second)
{
    snprintf(out, CELL_MAX, isnan(per_second) ? "unknown" : "%.1f/min", per_second * 60);
    return out;
}

/* What each meter did while it worked, beside what set-point, speed, width and meter ask for. */
static void table_meters(const struct layout *l, const struct dbr_report *r,
                         const struct dbr_implement *implement)
{
    char asked[CELL_MAX], told[CELL_MAX], turned[CELL_MAX], expected[CELL_MAX];

    if (implement->meter_count == 0)
        return;
    layout_line(l, "  %-11s %12s %12s %12s %12s", "element", "set-point", "actual", "turned",
                "expected");
    for (size_t i = 0; i < implement->meter_count; i++) {
        const struct dbr_meter *m = &implement->meters[i];
        layout_line(l, "  %-11u %12s %12s %12s %12s", m->element,
                    rate(asked, r, m->setpoint_kg_m2), rate(told, r, m->actual_kg_m2),
                    turns(turned, m->turns_per_s),
                    turns(expected, dbr_rig_expected_turns(r->rig, i, m)));
    }
}

static void table_chain(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    char label[CELL_MAX], title[2 * CELL_MAX];

    for (size_t i = 0; i < h->implement_count; i++) {
        const struct dbr_implement *implement = &h->implements[i];
        const struct dbr_ecu *ecu = dbr_history_ecu(h, implement->interface, implement->address);
        snprintf(label, sizeof label, "address %u", implement->address);
        if (ecu)
            dbr_ecu_label(label, sizeof label, ecu);
        snprintf(title, sizeof title, "Chain of %s", label);
        layout_heading(l, title);
        layout_line(l, "  %-11s %9s %9s %9s  %s", "", "held", "not held", "unknown",
                    "for most of the time not because");
        for (int k = 0; k < DBR_LINKS; k++)
            table_link(l, (enum dbr_link)k, &implement->links[k]);
        table_meters(l, r, implement);
    }
}

/* Exact: 3600 s an hour, 1609.344 m a mile. */
static const char *speed(char *out, const struct dbr_report *r, double mps)
{
    if (isnan(mps))
        snprintf(out, CELL_MAX, "unknown");
    else if (r->units == DBR_UNITS_US)
        snprintf(out, CELL_MAX, "%.1f mph", mps * 3600 / 1609.344);
    else
        snprintf(out, CELL_MAX, "%.1f km/h", mps * 3.6);
    return out;
}

static void table_sources(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    char label[CELL_MAX], cell[CELL_MAX], top[CELL_MAX], ratio[CELL_MAX];

    layout_heading(l, "Speed sources");
    if (h->source_count == 0)
        layout_line(l, "  none");
    else
        layout_line(l, "  %-10s %-27s %-14s %-11s %s", "", "from", "state", "highest", "scale");
    for (size_t i = 0; i < h->source_count; i++) {
        const struct dbr_speed_source *s = &h->sources[i];
        const struct dbr_ecu *ecu = dbr_history_ecu(h, s->interface, s->address);
        snprintf(label, sizeof label, "address %u", s->address);
        if (ecu)
            dbr_ecu_label(label, sizeof label, ecu);
        snprintf(ratio, sizeof ratio, "unknown");
        if (!isnan(s->ratio_to_reference))
            snprintf(ratio, sizeof ratio, "%.3f of %s", s->ratio_to_reference,
                     dbr_speed_kind_name(h->sources[s->reference].kind));
        layout_line(l, "  %-10s %-27s %-14s %-11s %s", dbr_speed_kind_name(s->kind),
                    fit(cell, label, 27), dbr_speed_state_name(s->state),
                    speed(top, r, s->max_mps), ratio);
    }
}

static void table_buses(const struct layout *l, const struct dbr_report *r)
{
    char cell[CELL_MAX];

    layout_heading(l, "Bus");
    for (size_t i = 0; i < r->history->bus_count; i++) {
        const struct dbr_bus *b = &r->history->buses[i];
        const char *name = fit(cell, r->info->interfaces[i], 20);
        if (b->measured)
            layout_line(l, "  %-10s %" PRIu64 " frames, load %.1f %% on average, %.1f %% at most "
                           "(%u kbit/s)", name, b->frames, b->load_mean_percent,
                        b->load_peak_percent, r->bitrate / 1000);
        else
            layout_line(l, "  %-10s %" PRIu64 " frames, load unknown", name, b->frames);
        if (b->error_frames > 0)
            layout_line(l, "  %-10s %" PRIu64 " error frames, bus-off %zu times, restarted %" PRIu64
                           " times", "", b->error_frames, b->off.count, b->restarts);
        else
            layout_line(l, "  %-10s no error frames recorded: bus faults are unknown", "");
    }
}

static void table_rejections(const struct layout *l, const struct dbr_file_info *file)
{
    for (int i = 0; i < DBR_REJECTION_COUNT; i++)
        if (file->rejections[i].count > 0)
            layout_line(l, "    %" PRIu64 " rejected, first at %s %" PRIu64 ": %s",
                        file->rejections[i].count, file->by_line ? "line" : "packet",
                        file->rejections[i].first_at,
                        dbr_rejection_words((enum dbr_rejection)i));
}

static void table_files(const struct layout *l, const struct dbr_report *r)
{
    static const char *const bases[] = {"no time stamps", "time from an unknown moment",
                                        "clock time"};
    char path[1024];

    layout_heading(l, "Recording");
    layout_line(l, "  %" PRIu64 " frames, %s%s", r->info->frames,
                r->history->timed ? "" : "duration unknown, ", bases[r->info->time_base]);
    if (r->history->timed)
        layout_line(l, "  %.1f s long", (double)r->info->last_ns / 1e9);
    for (size_t i = 0; i < r->info->file_count; i++) {
        const struct dbr_file_info *f = &r->info->files[i];
        layout_line(l, "  %s", clean_text(path, sizeof path, f->path));
        layout_line(l, "    %s%s, %" PRIu64 " records, %" PRIu64 " frames",
                    f->format ? f->format : "empty", f->compressed ? ", gzip" : "", f->records,
                    f->frames);
        table_rejections(l, f);
        if (f->truncated)
            layout_line(l, "    ends early: %s", f->truncated_why);
    }
}

void text_tables(const struct layout *l, const struct dbr_report *r)
{
    table_chain(l, r);
    table_ecus(l, r);
    table_sources(l, r);
    table_buses(l, r);
    table_files(l, r);
}
