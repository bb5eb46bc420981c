/* excerpt_values.c - see excerpt_values.h. */
#include "decoding/excerpt_values.h"

#include <stdlib.h>

#include "drawbar/process_data.h"

#define HASH_FACTOR UINT64_C(0x9E3779B97F4A7C15) /* 2^64 by the golden ratio: spreads its product */

static bool has_role(const struct dbr_message *m)
{
    for (size_t i = 0; m && i < m->signal_count; i++)
        if (m->signals[i].role != DBR_ROLE_NONE)
            return true;
    return false;
}

/* Does it hold until the next? `head`: what else than the identifier tells which it is. The status
 * of a task controller tells whose set-points those are that come with it. */
static bool holds_on(const struct dbr_seen *seen, uint32_t *head)
{
    struct dbr_process_data told;
    const uint8_t *data = seen->data;

    *head = 0;
    if (seen->id.pgn != DBR_PGN_PROCESS_DATA)
        return has_role(seen->message);
    if (!dbr_process_data_read(&told, data, seen->length))
        return seen->length > 0 && (data[0] & 0xF) == DBR_PROCESS_CONTROLLER_STATUS;
    *head = (uint32_t)told.ddi << 16 | (uint32_t)told.element << 4 | (uint32_t)told.command;
    return told.command == DBR_PROCESS_VALUE || told.command == DBR_PROCESS_SET_AND_ACKNOWLEDGE;
}

static bool is_same(const struct told_value *a, const struct told_value *b)
{
    return a->interface == b->interface && a->id == b->id && a->head == b->head;
}

/* Its place, or the free one that it gets. */
static struct told_value *place_of(struct told_values *t, const struct told_value *value)
{
    uint64_t mixed = (((uint64_t)value->head << 32 | value->id) ^ value->interface) * HASH_FACTOR;
    size_t at = (size_t)(mixed >> 32) % DBR_EXCERPT_VALUES_MAX;

    while (t->values[at].used && !is_same(&t->values[at], value))
        at = (at + 1) % DBR_EXCERPT_VALUES_MAX;
    return &t->values[at];
}

void told_values_seen(struct told_values *t, const struct dbr_seen *seen, uint64_t frame)
{
    struct told_value value = {.used = true, .interface = seen->interface, .frame = frame};

    if (seen->kind != DBR_SEEN_MESSAGE || !seen->frame || !holds_on(seen, &value.head))
        return;
    value.id = seen->frame->id;
    struct told_value *place = place_of(t, &value);
    /* One place stays free: there the search for what is not here ends. */
    if (!place->used && t->value_count == DBR_EXCERPT_VALUES_MAX - 1) {
        t->beyond++;
        return;
    }
    t->value_count += !place->used;
    *place = value;
}

static bool make_room(struct told_values *t)
{
    size_t needed = t->count + t->value_count;

    if (needed <= t->capacity)
        return true;
    uint64_t *grown = realloc(t->frames, 2 * needed * sizeof *grown);
    t->out_of_memory = t->out_of_memory || !grown;
    if (!grown)
        return false;
    t->frames = grown;
    t->capacity = 2 * needed;
    return true;
}

void told_values_keep(struct told_values *t)
{
    if (!make_room(t))
        return;
    for (size_t i = 0; i < DBR_EXCERPT_VALUES_MAX; i++)
        if (t->values[i].used)
            t->frames[t->count++] = t->values[i].frame;
}

static int by_number(const void *a, const void *b)
{
    const uint64_t *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

void told_values_sort(struct told_values *t)
{
    if (t->count > 0)
        qsort(t->frames, t->count, sizeof *t->frames, by_number);
}

bool told_values_want(struct told_values *t, uint64_t frame)
{
    while (t->next < t->count && t->frames[t->next] < frame)
        t->next++;
    return t->next < t->count && t->frames[t->next] == frame;
}
