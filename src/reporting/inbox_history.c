/* inbox_history.c - the same fault in several uploads of one machine. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/inbox.h"

static int32_t difference(const struct inbox_event *a, const struct inbox_event *b)
{
    int order = strcmp(a->code, b->code);

    order = order ? order : strcmp(a->ecu, b->ecu);
    order = order ? order : (a->pgn > b->pgn) - (a->pgn < b->pgn);
    order = order ? order : (a->spn > b->spn) - (a->spn < b->spn);
    return order ? order : (a->fmi > b->fmi) - (a->fmi < b->fmi);
}

/* An event and the upload it is of: qsort has no place for the inbox. */
struct dated {
    struct inbox_event event;
    const struct inbox_row *row;
};

/* By what, then by when; what has no clock comes last, by path. */
static int by_fault(const void *left, const void *right)
{
    const struct dated *a = left, *b = right;
    int order = difference(&a->event, &b->event);

    if (order)
        return order;
    if (isnan(a->row->start) != isnan(b->row->start))
        return isnan(a->row->start) ? 1 : -1;
    if (a->row->start < b->row->start || a->row->start > b->row->start)
        return a->row->start < b->row->start ? -1 : 1;
    order = strcmp(a->row->path, b->row->path);
    return order ? order : strcmp(a->row->sha256, b->row->sha256);
}

static bool sort_events(struct dbr_inbox *inbox)
{
    struct dated *list = calloc(inbox->event_count + 1, sizeof *list);

    if (!list)
        return false;
    for (size_t i = 0; i < inbox->event_count; i++)
        list[i] = (struct dated){inbox->events[i], &inbox->rows[inbox->events[i].row]};
    qsort(list, inbox->event_count, sizeof *list, by_fault);
    for (size_t i = 0; i < inbox->event_count; i++)
        inbox->events[i] = list[i].event;
    free(list);
    return true;
}

/* A copy of an upload tells nothing twice. */
static void drop_copies(struct dbr_inbox *inbox)
{
    size_t kept = 0;

    for (size_t i = 0; i < inbox->event_count; i++) {
        if (inbox->rows[inbox->events[i].row].original == INBOX_NONE)
            inbox->events[kept++] = inbox->events[i];
        else
            free(inbox->events[i].title);
    }
    inbox->event_count = kept;
}

/* Worst first, then what came most often; else as the events are sorted. */
static int by_weight(const void *left, const void *right)
{
    const struct inbox_history *a = left, *b = right;

    if (a->severity != b->severity)
        return a->severity > b->severity ? -1 : 1;
    if (a->count != b->count)
        return a->count > b->count ? -1 : 1;
    return (a->first > b->first) - (a->first < b->first);
}

static int by_name(const void *left, const void *right)
{
    return strcmp(left, right);
}

static bool list_machines(struct dbr_inbox *inbox)
{
    inbox->machines = calloc(inbox->row_count + 1, sizeof *inbox->machines);
    if (!inbox->machines)
        return false;
    for (size_t i = 0; i < inbox->row_count; i++)
        if (inbox->rows[i].original == INBOX_NONE && inbox->rows[i].machine[0])
            memcpy(inbox->machines[inbox->machine_count++], inbox->rows[i].machine,
                   INBOX_NAME_SIZE);
    qsort(inbox->machines, inbox->machine_count, sizeof *inbox->machines, by_name);
    return true;
}

/* How many come before a machine, or with `too` up to its last. */
static size_t count_below(const struct dbr_inbox *inbox, const char *machine, bool too)
{
    size_t low = 0, high = inbox->machine_count;

    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(inbox->machines[middle], machine);
        if (order < 0 || (too && order == 0))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t inbox_machine_uploads(const struct dbr_inbox *inbox, const char *machine)
{
    return count_below(inbox, machine, true) - count_below(inbox, machine, false);
}

int inbox_find_histories(struct dbr_inbox *inbox)
{
    drop_copies(inbox);
    inbox->histories = calloc(inbox->event_count / 2 + 1, sizeof *inbox->histories);
    if (!inbox->histories || !sort_events(inbox) || !list_machines(inbox))
        return -1;
    for (size_t i = 0; i < inbox->event_count;) {
        struct inbox_history h = {.first = i};
        const struct inbox_event *first = &inbox->events[h.first];
        for (; i < inbox->event_count && difference(first, &inbox->events[i]) == 0; i++)
            if (inbox->events[i].severity > h.severity)
                h.severity = inbox->events[i].severity;
        h.count = i - h.first;
        if (h.count < 2)
            continue;
        inbox->histories[inbox->history_count++] = h;
        for (size_t e = h.first; e < i; e++)
            inbox->rows[inbox->events[e].row].histories++;
    }
    qsort(inbox->histories, inbox->history_count, sizeof *inbox->histories, by_weight);
    return 0;
}
