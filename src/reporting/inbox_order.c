/* inbox_order.c - copies, names of pages, and which upload comes first (drawbar/inbox.h). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/inbox.h"

/* SHA-256 of nothing. Empty files are no copies of each other: each upload was lost by itself. */
#define DIGEST_OF_NOTHING "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"

/* A row and its number: qsort has no place for the inbox. */
struct numbered {
    const struct inbox_row *row;
    size_t at;
};

static int by_content(const void *left, const void *right)
{
    const struct inbox_row *a = ((const struct numbered *)left)->row;
    const struct inbox_row *b = ((const struct numbered *)right)->row;
    int order = strcmp(a->sha256, b->sha256);

    return order ? order : strcmp(a->path, b->path);
}

/* Worst first, then the latest (without a clock last), then by path. */
static int by_urgency(const void *left, const void *right)
{
    const struct inbox_row *a = ((const struct numbered *)left)->row;
    const struct inbox_row *b = ((const struct numbered *)right)->row;

    if (a->worst != b->worst)
        return a->worst > b->worst ? -1 : 1;
    if (isnan(a->start) != isnan(b->start))
        return isnan(a->start) ? 1 : -1;
    if (!isnan(a->start) && (a->start > b->start || a->start < b->start))
        return a->start > b->start ? -1 : 1;
    int order = strcmp(a->path, b->path);
    return order ? order : strcmp(a->sha256, b->sha256);
}

size_t dbr_inbox_id_length(const char *const *digests, size_t count, size_t at)
{
    for (int step = -1; step <= 1; step += 2) {
        size_t other = at;
        do
            other += (size_t)step; /* below 0 wraps beyond count */
        while (other < count && strcmp(digests[other], digests[at]) == 0);
        if (other < count && strncmp(digests[other], digests[at], DBR_INBOX_ID_DIGITS) == 0)
            return DBR_DIGEST_HEX_SIZE - 1;
    }
    return DBR_INBOX_ID_DIGITS;
}

static void name_pages(struct dbr_inbox *inbox, const struct numbered *list, const char **digests)
{
    size_t count = inbox->row_count;

    for (size_t i = 0; i < count; i++)
        digests[i] = list[i].row->sha256;
    for (size_t i = 0; i < count; i++) {
        struct inbox_row *row = &inbox->rows[list[i].at];
        if (row->sha256[0])
            snprintf(row->id, sizeof row->id, "%.*s",
                     (int)dbr_inbox_id_length(digests, count, i), row->sha256);
        /* A page by a shorter name may be that of the other content. */
        if (row->page != strlen(row->id))
            row->page = 0;
    }
}

/* In the order of content and path: the first of each content is the upload. */
static void find_copies(struct dbr_inbox *inbox, const struct numbered *list)
{
    size_t first = 0, last = 0; /* the upload, and the last of its copies so far */

    for (size_t i = 1; i < inbox->row_count; i++) {
        struct inbox_row *row = &inbox->rows[list[i].at];
        const struct inbox_row *before = list[i - 1].row;
        if (strcmp(row->path, before->path) == 0 && strcmp(row->sha256, before->sha256) == 0) {
            row->again = true;
            row->original = list[first].at;
            continue;
        }
        if (!row->sha256[0] || strcmp(row->sha256, DIGEST_OF_NOTHING) == 0 ||
            strcmp(row->sha256, list[first].row->sha256) != 0) {
            first = last = i;
            continue;
        }
        row->original = list[first].at;
        inbox->rows[row->original].copies++;
        inbox->rows[list[last].at].next_copy = list[i].at;
        last = i;
    }
}

static void take_order(struct dbr_inbox *inbox, const struct numbered *list)
{
    for (size_t i = 0; i < inbox->row_count; i++)
        if (!list[i].row->again)
            inbox->order[inbox->order_count++] = list[i].at;
}

static void add_text(struct dbr_digest *digest, const char *text)
{
    if (text)
        dbr_digest_add(digest, text, strlen(text) + 1);
}

static void take_edition(struct dbr_inbox *inbox)
{
    struct dbr_digest digest;

    dbr_digest_start(&digest);
    for (size_t i = 0; i < inbox->order_count; i++) {
        const struct inbox_row *row = &inbox->rows[inbox->order[i]];
        add_text(&digest, row->path);
        add_text(&digest, row->sha256);
        add_text(&digest, row->sentence);
    }
    dbr_digest_finish(&digest, inbox->edition);
}

int dbr_inbox_order(struct dbr_inbox *inbox, struct dbr_error *error)
{
    size_t count = inbox->row_count;
    struct numbered *list = calloc(count + 1, sizeof *list);
    const char **digests = calloc(count + 1, sizeof *digests);

    inbox->order = calloc(count + 1, sizeof *inbox->order);
    bool ready = list && digests && inbox->order;
    for (size_t i = 0; ready && i < count; i++)
        list[i] = (struct numbered){&inbox->rows[i], i};
    if (ready) {
        qsort(list, count, sizeof *list, by_content);
        name_pages(inbox, list, digests);
        find_copies(inbox, list);
        qsort(list, count, sizeof *list, by_urgency);
        take_order(inbox, list);
        take_edition(inbox);
        ready = inbox_find_histories(inbox) == 0;
    }
    free(digests);
    free(list);
    return ready ? 0 : dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
}

void dbr_inbox_totals(const struct dbr_inbox *inbox, struct dbr_inbox_totals *totals)
{
    *totals = (struct dbr_inbox_totals){.histories = inbox->history_count,
                                        .events_beyond = inbox->events_beyond};
    for (size_t i = 0; i < inbox->order_count; i++) {
        const struct inbox_row *row = &inbox->rows[inbox->order[i]];
        if (row->original != INBOX_NONE) {
            totals->copies++;
            continue;
        }
        totals->uploads++;
        totals->by_worst[row->worst]++;
        totals->findings += row->finding_count;
    }
}
