/* text_tables.c - see text_tables.h. What is unknown says so. */
#include "reporting/text_tables.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "diagnosis/units.h"
#include "reporting/identity_words.h"
#include "reporting/text_codes.h"
#include "text/clean.h"

#define CELL_MAX 96u
#define ECU_COLUMNS 30u /* of its label in the table of ECUs */

/* A copy of `width` columns, filled up with blanks; a cut is marked. */
static const char *fit(char *out, const char *text, unsigned width)
{
    char clean[CELL_MAX];
    unsigned columns = 0;
    size_t end = 0, last = 0;

    for (clean_text(clean, sizeof clean, text); clean[end] && columns < width; columns++) {
        last = end;
        end += utf8_length(clean + end);
    }
    bool cut = clean[end] != '\0';
    snprintf(out, CELL_MAX, "%.*s%s%*s", (int)(cut ? last : end), clean, cut ? "~" : "",
             (int)(width - columns), "");
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

/* "ECUs", or where there are several buses "ECUs on can1". */
static void heading_of_bus(const struct layout *l, const struct dbr_report *r, const char *text,
                           size_t bus)
{
    char heading[CELL_MAX + 32], cell[CELL_MAX];

    snprintf(heading, sizeof heading, "%s on %s", text,
             clean_text(cell, sizeof cell, r->info->interfaces[bus]));
    layout_heading(l, r->history->bus_count > 1 ? heading : text);
}

static void write_identity(const struct layout *l, const struct dbr_history *h,
                           const struct dbr_ecu *ecu)
{
    struct identity_words words;

    identity_words(&words, h, ecu);
    const char *const lines[] = {words.told, words.abilities, words.leader};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        if (lines[i][0])
            layout_paragraph(l, INK_FAINT, "      ", lines[i]);
}

static void write_ecu(const struct layout *l, const struct dbr_history *h,
                      const struct dbr_ecu *ecu)
{
    char label[DBR_LABEL_MAX], cell[CELL_MAX], name[24], first[CELL_MAX], last[CELL_MAX];

    dbr_ecu_label(label, sizeof label, ecu);
    if (utf8_count(label, strlen(label)) > ECU_COLUMNS) { /* it gets a line of its own */
        layout_line(l, "  %s", label);
        label[0] = '\0';
    }
    snprintf(name, sizeof name, "not seen");
    if (ecu->name_count > 0)
        snprintf(name, sizeof name, "%016" PRIX64, ecu->names[ecu->name_count - 1]);
    layout_line(l, "  %s %-16s %9" PRIu64 " %8s %8s", fit(cell, label, ECU_COLUMNS), name,
                ecu->frames, seconds(first, h, ecu->first_ns), seconds(last, h, ecu->last_ns));
    write_identity(l, h, ecu);
}

static void table_ecus(const struct layout *l, const struct dbr_report *r, size_t bus)
{
    const struct dbr_history *h = r->history;
    bool any = false;

    heading_of_bus(l, r, "ECUs", bus);
    for (size_t i = 0; i < h->ecu_count; i++) {
        if (h->ecus[i].interface != bus)
            continue;
        if (!any)
            layout_line(l, "  %-30s %-16s %9s %8s %8s", "", "NAME", "messages", "first s",
                        "last s");
        any = true;
        write_ecu(l, h, &h->ecus[i]);
    }
    if (!any)
        layout_line(l, "  none");
}

static double link_s(const struct dbr_link_story *story, enum dbr_answer answer)
{
    return (double)dbr_link_time_ns(story, answer) / 1e9;
}

/* How long a link held and failed, in all. */
static void table_link(const struct layout *l, enum dbr_link link,
                       const struct dbr_link_story *story)
{
    const struct dbr_link_interval *failed = NULL;

    for (size_t i = 0; i < story->count; i++) {
        const struct dbr_link_interval *interval = &story->items[i];
        bool longest = !failed || interval->end_ns - interval->start_ns >
                                      failed->end_ns - failed->start_ns;
        if (interval->answer == DBR_ANSWER_FAILED && longest)
            failed = interval;
    }
    layout_line(l, "  %-11s %7.1f s %7.1f s %7.1f s  %s", dbr_link_words(link),
                link_s(story, DBR_ANSWER_HELD), link_s(story, DBR_ANSWER_FAILED),
                link_s(story, DBR_ANSWER_UNKNOWN),
                failed ? dbr_link_reason_words(failed->reason) : "");
}

static const char *turns(char *out, double per_second)
{
    snprintf(out, CELL_MAX, isnan(per_second) ? "unknown" : "%.1f/min", per_second * 60);
    return out;
}

/* Number and name: 3 Left belt. */
static const char *element_cell(char *out, const struct dbr_history *h,
                                const struct dbr_implement *implement, uint16_t number)
{
    const struct dbr_device_object *element =
        dbr_history_element(h, implement->interface, implement->address, number);

    snprintf(out, CELL_MAX, "%u%s%s", number, element ? " " : "", element ? element->text : "");
    return out;
}

/* What each meter did while it worked, beside what set-point, speed, width and meter ask for. */
static void table_meters(const struct layout *l, const struct dbr_report *r,
                         const struct dbr_implement *implement)
{
    char asked[UNITS_TEXT_MAX], told[UNITS_TEXT_MAX], metered[UNITS_TEXT_MAX];
    char turned[CELL_MAX], expected[CELL_MAX], whole[CELL_MAX], name[CELL_MAX];

    if (implement->meter_count == 0)
        return;
    layout_line(l, "  %-11s %12s %12s %12s %12s %12s", "element", "set-point", "actual", "by turns",
                "turned", "expected");
    for (size_t i = 0; i < implement->meter_count; i++) {
        const struct dbr_meter *m = &implement->meters[i];
        layout_line(l, "  %s %12s %12s %12s %12s %12s",
                    fit(name, element_cell(whole, r->history, implement, m->element), 11),
                    units_mass_rate(asked, r->units, m->setpoint_kg_m2),
                    units_mass_rate(told, r->units, m->actual_kg_m2),
                    units_mass_rate(metered, r->units, dbr_rig_metered_rate(r->rig, i, m)),
                    turns(turned, m->turns_per_s),
                    turns(expected, dbr_rig_expected_turns(r->rig, i, m)));
    }
}

static void table_chain(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    char label[DBR_LABEL_MAX], title[DBR_LABEL_MAX + 16];

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

/* How far its scale is off, and against which source. */
static const char *offset(char *out, const struct dbr_history *h, const struct dbr_speed_source *s)
{
    snprintf(out, CELL_MAX, "unknown");
    if (!isnan(s->ratio_to_reference) && s->reference >= 0)
        snprintf(out, CELL_MAX, "%+.1f %% %s", (s->ratio_to_reference - 1) * 100,
                 dbr_speed_kind_name(h->sources[s->reference].kind));
    return out;
}

static void write_source(const struct layout *l, const struct dbr_report *r,
                         const struct dbr_speed_source *s)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(r->history, s->interface, s->address);
    char label[CELL_MAX], cell[CELL_MAX], top[UNITS_TEXT_MAX], off[CELL_MAX];

    snprintf(label, sizeof label, "address %u", s->address);
    if (ecu)
        dbr_ecu_short_label(label, sizeof label, ecu);
    layout_line(l, "  %-10s %s %-13s %-10s %s", dbr_speed_kind_name(s->kind),
                fit(cell, label, 23), dbr_speed_state_words(s->state),
                units_speed(top, r->units, s->max_mps),
                offset(off, r->history, s));
}

static void table_sources(const struct layout *l, const struct dbr_report *r, size_t bus)
{
    const struct dbr_history *h = r->history;
    bool any = false;

    heading_of_bus(l, r, "Speed sources", bus);
    for (size_t i = 0; i < h->source_count; i++) {
        if (h->sources[i].interface != bus)
            continue;
        if (!any)
            layout_line(l, "  %-10s %-23s %-13s %-10s %s", "", "from", "state", "highest",
                        "off, against");
        any = true;
        write_source(l, r, &h->sources[i]);
    }
    if (!any)
        layout_line(l, "  none");
}

static const char *times(char *out, uint64_t count)
{
    if (count == 0)
        snprintf(out, CELL_MAX, "never");
    else if (count == 1)
        snprintf(out, CELL_MAX, "once");
    else
        snprintf(out, CELL_MAX, "%" PRIu64 " times", count);
    return out;
}

static const char *counter(char *out, int value)
{
    if (value < 0)
        snprintf(out, CELL_MAX, "unknown");
    else
        snprintf(out, CELL_MAX, "%d", value);
    return out;
}

static void write_errors(const struct layout *l, const struct dbr_bus *b)
{
    char off[CELL_MAX], restarts[CELL_MAX], transmit[CELL_MAX], receive[CELL_MAX];

    if (b->error_frames == 0) {
        layout_line(l, "  %-10s no error frames recorded: bus faults are unknown", "");
        return;
    }
    layout_line(l, "  %-10s %" PRIu64 " error frame%s; the recorder was bus-off %s, restarted %s",
                "", b->error_frames, b->error_frames == 1 ? "" : "s",
                times(off, b->off.count + b->off.folded), times(restarts, b->restarts));
    layout_line(l, "  %-10s highest error counters: transmit %s, receive %s", "",
                counter(transmit, b->transmit_errors_max),
                counter(receive, b->receive_errors_max));
}

static void table_buses(const struct layout *l, const struct dbr_report *r)
{
    char cell[CELL_MAX];

    layout_heading(l, "Bus");
    for (size_t i = 0; i < r->history->bus_count; i++) {
        const struct dbr_bus *b = &r->history->buses[i];
        const char *name = fit(cell, r->info->interfaces[i], 10);
        if (b->measured)
            layout_line(l, "  %s %" PRIu64 " frames, load %.1f %% on average, %.1f %% at most",
                        name, b->frames, b->load_mean_percent, b->load_peak_percent);
        else
            layout_line(l, "  %s %" PRIu64 " frames, load unknown", name, b->frames);
        write_errors(l, b);
    }
    layout_line(l, "  %-10s taken as %.0f kbit/s", "", r->bitrate / 1000.0);
}

static void write_rejections(const struct layout *l, const struct dbr_file_info *file)
{
    char line[256];

    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        if (file->rejections[i].count == 0)
            continue;
        snprintf(line, sizeof line, "%" PRIu64 " rejected, first at %s %" PRIu64 ": %s",
                 file->rejections[i].count, file->by_line ? "line" : "packet",
                 file->rejections[i].first_at, dbr_rejection_words((enum dbr_rejection)i));
        layout_paragraph(l, INK_PLAIN, "    ", line);
    }
}

/* Start and length; what the recording does not tell is said. */
static void write_start(const struct layout *l, const struct dbr_recording_info *info)
{
    struct tm civil;
    char start[32] = "unknown";
    time_t begin = (time_t)(info->start_ns / 1000000000);
    double length_s = (double)info->last_ns / 1e9;

    switch (info->time_base) {
    case DBR_TIME_NONE:
        layout_line(l, "  no time stamps: start and length are unknown");
        return;
    case DBR_TIME_RELATIVE:
        layout_line(l, "  %.1f s long; when it was made is unknown", length_s);
        return;
    case DBR_TIME_EPOCH:
        break;
    }
    if (gmtime_r(&begin, &civil))
        strftime(start, sizeof start, "%Y-%m-%d %H:%M:%S", &civil);
    layout_line(l, "  %.1f s long, from %s UTC by the recorder's clock", length_s, start);
}

static void write_file(const struct layout *l, const struct dbr_file_info *f)
{
    layout_line(l, "  %s", f->path);
    layout_line(l, "    %s%s, %" PRIu64 " records, %" PRIu64 " frames",
                f->format ? f->format : "empty", f->compressed ? ", gzip" : "", f->records,
                f->frames);
    write_rejections(l, f);
    if (f->truncated)
        layout_paragraph(l, INK_PLAIN, "    ends early: ", f->truncated_why);
}

static void table_files(const struct layout *l, const struct dbr_report *r)
{
    layout_heading(l, "Recording");
    write_start(l, r->info);
    layout_line(l, "  %" PRIu64 " frames", r->info->frames);
    if (r->info->copies > 0)
        layout_line(l, "  %" PRIu64 " of these the recorder sent and heard again: counted once",
                    r->info->copies);
    for (size_t i = 0; i < r->info->file_count; i++)
        write_file(l, &r->info->files[i]);
}

void text_tables(const struct layout *l, const struct dbr_report *r)
{
    table_chain(l, r);
    for (size_t bus = 0; bus < r->history->bus_count; bus++) {
        table_ecus(l, r, bus);
        table_sources(l, r, bus);
    }
    text_codes(l, r);
    table_buses(l, r);
    table_files(l, r);
}
