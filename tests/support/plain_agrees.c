/* plain_agrees.c - the transport layer and the plain second reading of it, side by side. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/plain_transport.h"

#define LINE 256

struct collected {
    struct plain_transfer *items;
    size_t count;
    uint64_t *ends;
};

static void collect(void *context, const struct dbr_transfer *t)
{
    struct collected *c = context;
    struct plain_transfer *items = realloc(c->items, (c->count + 1) * sizeof *items);

    if (!items)
        abort();
    c->items = items;
    items[c->count].seen = *t;
    if (t->data)
        memcpy(items[c->count].payload, t->data, t->size);
    c->count++;
    if (c->ends)
        c->ends[t->end]++;
}

static void describe(const struct plain_transfer *p, char *out, size_t size)
{
    const struct dbr_transfer *t = &p->seen;
    uint32_t sum = 0;

    for (uint32_t i = 0; t->end == DBR_TRANSFER_COMPLETE && i < t->size; i++)
        sum = sum * 31 + p->payload[i];
    snprintf(out, size, "%ld@%u %u>%u pgn %u %uB/%u end %d at %ld got %u again %u ungranted %u "
                        "missing %u announced %u reason %u %d answered %d ack %d breach %d T%d "
                        "sum %08X",
             (long)t->start_ns, t->interface, t->source, t->destination, t->pgn, t->size,
             t->packets, t->end, (long)t->end_ns, t->received, t->repeated, t->ungranted,
             t->first_missing, t->announcements, t->abort_reason, t->by_receiver, t->answered,
             t->acknowledged, t->breach, t->timer, sum);
}

static int by_text(const void *x, const void *y)
{
    return strcmp(x, y);
}

static char (*lines_of(const struct plain_transfer *list, size_t count))[LINE]
{
    char(*lines)[LINE] = calloc(count + 1, LINE);

    for (size_t i = 0; i < count; i++)
        describe(&list[i], lines[i], LINE);
    qsort(lines, count, LINE, by_text);
    return lines;
}

static bool same_counts(const struct dbr_transport *transport, const struct plain_result *plain,
                        char *out, size_t size)
{
    const struct dbr_transport_counts *counts = dbr_transport_counts(transport);

    snprintf(out, size, "stray data %llu, plain %llu; control %llu, plain %llu",
             (unsigned long long)counts->stray_data, (unsigned long long)plain->stray_data,
             (unsigned long long)counts->stray_control, (unsigned long long)plain->stray_control);
    return counts->stray_data == plain->stray_data &&
           counts->stray_control == plain->stray_control;
}

static bool same_transfers(const struct collected *ours, const struct plain_result *plain,
                           char *out, size_t size)
{
    char(*a)[LINE] = lines_of(ours->items, ours->count);
    char(*b)[LINE] = lines_of(plain->transfers, plain->count);
    size_t i = 0;

    /* Both lists end with an empty line. */
    while (i < ours->count && i < plain->count && strcmp(a[i], b[i]) == 0)
        i++;
    snprintf(out, size, "\n  ours  %s\n  plain %s", a[i], b[i]);
    free(a);
    free(b);
    return i == ours->count && i == plain->count;
}

bool plain_agrees(const struct dbr_frame *frames, size_t count, uint8_t highest, uint64_t *ends,
                  char *out, size_t size)
{
    struct collected ours = {.ends = ends};
    struct dbr_transport *t = dbr_transport_new(collect, &ours, NULL);

    if (!t)
        abort();
    for (size_t i = 0; i < count; i++)
        dbr_transport_frame(t, &frames[i], (frames[i].id >> 8 & 0x3FFFF) == PLAIN_FAST_GROUP);
    dbr_transport_finish(t, count ? frames[count - 1].at_ns : 0);
    struct plain_result plain = plain_transport(frames, count, highest);
    bool same = same_transfers(&ours, &plain, out, size) && same_counts(t, &plain, out, size);
    free(plain.transfers);
    free(ours.items);
    dbr_transport_free(t);
    return same;
}
