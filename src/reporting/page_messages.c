/* page_messages.c - who sends what, fastest first, in the page (page.h). */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#include "reporting/html_text.h"
#include "reporting/page.h"

#define MESSAGES_SHOWN 1000u /* three times a busy bus; a row weighs some 300 bytes */

static double beat(const struct dbr_stream *s)
{
    return isnan(s->cadence.median_s) ? (double)INFINITY : s->cadence.median_s;
}

/* By interval, the shortest first; those without one last; then as they stand in the history. */
static int compare_beats(const void *left, const void *right)
{
    const struct dbr_stream *const *a = left, *const *b = right;

    if (beat(*a) < beat(*b))
        return -1;
    if (beat(*a) > beat(*b))
        return 1;
    return (*a > *b) - (*a < *b);
}

static void cell_interval(struct page_table *t, double seconds)
{
    if (isnan(seconds))
        page_cell_text(t, "unknown");
    else if (seconds < 1)
        page_cell_text(t, "%.0f ms", seconds * 1e3);
    else
        page_cell_text(t, "%.1f s", seconds);
}

static void write_message(struct page_table *t, const struct dbr_stream *s)
{
    bool timed = t->p->r->history->timed;

    page_row_open(t, NULL);
    if (s->message && s->message->name)
        page_cell_text(t, "%" PRIu32 " %s", s->pgn, s->message->name);
    else
        page_cell_text(t, "%" PRIu32 " not decoded", s->pgn);
    page_cell_open(t);
    page_ecu(t->p, s->interface, s->address);
    if (s->broadcast)
        page_cell_text(t, "all");
    else
        page_cell_text(t, "%u", s->destination);
    page_cell_text(t, "%" PRIu64, s->frames);
    cell_interval(t, timed ? s->cadence.median_s : (double)NAN);
    cell_interval(t, timed ? s->cadence.longest_s : (double)NAN);
    page_cell_text(t, "%" PRIu64, s->cadence.over_three);
    page_row_close(t);
}

void page_messages(const struct page *p)
{
    static const char *const heads[] = {"Group", "from", "to", "messages", "usual interval",
                                        "longest interval", "missed beats", NULL};
    const struct dbr_history *h = p->r->history;
    const struct dbr_stream **order = malloc((h->stream_count + 1) * sizeof(*order));

    if (!order) {
        *p->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < h->stream_count; i++)
        order[i] = &h->streams[i];
    qsort(order, h->stream_count, sizeof(*order), compare_beats);
    fprintf(p->out, "<details><summary>%zu groups of messages, by sender</summary>\n",
            h->stream_count);
    struct page_table t = page_table_open(p, "Messages, the most frequent first", heads);
    for (size_t i = 0; i < h->stream_count && i < MESSAGES_SHOWN; i++)
        write_message(&t, order[i]);
    page_table_close(&t);
    if (h->stream_count > MESSAGES_SHOWN)
        fprintf(p->out, "<p>%zu further groups are counted only.</p>\n",
                h->stream_count - MESSAGES_SHOWN);
    fputs("</details>\n", p->out);
    free(order);
}
