/* page_recording.c - the bus, and the recording itself with its flaws, in the page (page.h). */
#include <inttypes.h>
#include <time.h>

#include "reporting/html_text.h"
#include "reporting/page.h"

static void cell_count(struct page_table *t, int value)
{
    if (value < 0)
        page_cell_text(t, "unknown");
    else
        page_cell_text(t, "%d", value);
}

static void write_bus(struct page_table *t, size_t index)
{
    const struct dbr_bus *b = &t->p->r->history->buses[index];

    page_row_open(t, NULL);
    page_cell_text(t, "%s", t->p->r->info->interfaces[index]);
    page_cell_text(t, "%.0f kbit/s", t->p->r->bitrate / 1000.0);
    page_cell_text(t, "%" PRIu64, b->frames);
    if (b->measured)
        page_cell_text(t, "%.1f %% on average, %.1f %% at most", b->load_mean_percent,
                       b->load_peak_percent);
    else
        page_cell_text(t, "unknown");
    if (b->error_frames == 0) {
        page_cell_text(t, "none recorded: faults on the wires are unknown");
        page_cell_text(t, "unknown");
        page_cell_text(t, "unknown");
    } else {
        page_cell_text(t, "%" PRIu64, b->error_frames);
        page_cell_text(t, "%" PRIu64 " (restarts %" PRIu64 ")", b->off.count + b->off.folded,
                       b->restarts);
        cell_count(t, b->transmit_errors_max);
        fputs(" sent, ", t->p->out);
        if (b->receive_errors_max < 0)
            fputs("unknown", t->p->out);
        else
            fprintf(t->p->out, "%d", b->receive_errors_max);
        fputs(" received", t->p->out);
    }
    page_row_close(t);
}

static void write_buses(const struct page *p)
{
    static const char *const heads[] = {"Bus", "bit rate", "frames", "load", "error frames",
                                        "bus-off", "highest error counters", NULL};

    if (p->r->history->bus_count == 0)
        return;
    struct page_table t = page_table_open(p, "Bus", heads);
    for (size_t i = 0; i < p->r->history->bus_count; i++)
        write_bus(&t, i);
    page_table_close(&t);
}

static void cell_rejected(struct page_table *t, const struct dbr_file_info *f)
{
    FILE *out = t->p->out;

    page_cell_open(t);
    fprintf(out, "%" PRIu64, f->rejected);
    if (f->rejected == 0)
        return;
    fputs("<ul>", out);
    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        if (f->rejections[i].count == 0)
            continue;
        fprintf(out, "<li>%" PRIu64 ", first at %s %" PRIu64 ": ", f->rejections[i].count,
                f->by_line ? "line" : "packet", f->rejections[i].first_at);
        html_text(out, dbr_rejection_words((enum dbr_rejection)i));
        fputs("</li>", out);
    }
    fputs("</ul>", out);
}

static void write_files(const struct page *p)
{
    static const char *const heads[] = {"File", "form", "records", "frames", "rejected", "end",
                                        NULL};
    struct page_table t = page_table_open(p, "Files", heads);

    for (size_t i = 0; i < p->r->info->file_count; i++) {
        const struct dbr_file_info *f = &p->r->info->files[i];
        page_row_open(&t, NULL);
        page_cell_open(&t);
        html_text(p->out, f->path);
        page_cell_text(&t, "%s%s", f->format ? f->format : "empty", f->compressed ? ", gzip" : "");
        page_cell_text(&t, "%" PRIu64, f->records);
        page_cell_text(&t, "%" PRIu64, f->frames);
        cell_rejected(&t, f);
        page_cell_text(&t, "%s%s", f->truncated ? "ends early: " : "whole", f->truncated_why);
        page_row_close(&t);
    }
    page_table_close(&t);
}

/* Start and length; what the recording does not tell is said. */
static void write_start(const struct page *p)
{
    const struct dbr_recording_info *info = p->r->info;
    struct tm civil;
    char start[32] = "unknown";
    time_t seconds = (time_t)(info->start_ns / 1000000000);

    if (info->time_base == DBR_TIME_NONE) {
        fputs("No time stamps: start and length are unknown.", p->out);
        return;
    }
    fprintf(p->out, "%.1f s long", (double)info->last_ns / 1e9);
    if (info->time_base == DBR_TIME_RELATIVE) {
        fputs("; when it was made is unknown.", p->out);
        return;
    }
    if (gmtime_r(&seconds, &civil))
        strftime(start, sizeof start, "%Y-%m-%d %H:%M:%S", &civil);
    fprintf(p->out, ", from %s UTC by the recorder&#39;s clock.", start);
}

static void write_steps(const struct page *p, const char *what, const struct dbr_clock_steps *steps)
{
    if (steps->count > 0)
        fprintf(p->out, "<li>the recorder&#39;s clock %s %" PRIu64 " times, by %.3f s at most: "
                "taken out</li>\n", what, steps->count, (double)steps->largest_ns / 1e9);
}

static void write_flaws(const struct page *p)
{
    const struct dbr_recording_info *info = p->r->info;
    const struct dbr_history *h = p->r->history;

    if (info->copies > 0)
        fprintf(p->out, "<li>%" PRIu64 " frames the recorder sent and heard again: counted "
                "once</li>\n", info->copies);
    write_steps(p, "ran backwards", &info->steps_back);
    write_steps(p, "leapt ahead", &info->steps_ahead);
    if (info->joined_without_clock)
        fputs("<li>the files bear no absolute time and stand end to end, as given</li>\n", p->out);
    if (h->not_tracked > 0)
        fprintf(p->out, "<li>%" PRIu64 " frames of senders or groups beyond the ceilings were "
                "counted only</li>\n", h->not_tracked);
    if (h->events_dropped > 0)
        fprintf(p->out, "<li>%" PRIu64 " claims and the like beyond the ceilings were counted "
                "only</li>\n", h->events_dropped);
}

void page_recording(const struct page *p)
{
    write_buses(p);
    fputs("<p>", p->out);
    write_start(p);
    fprintf(p->out, " %" PRIu64 " frames.</p>\n<ul>\n", p->r->info->frames);
    write_flaws(p);
    fputs("</ul>\n", p->out);
    write_files(p);
}
