/* definitions.c - the store of definitions: adding, replacing, finding. See its public header. */
#include "drawbar/definitions.h"

#include <stdlib.h>
#include <string.h>

#include "drawbar/name.h"
#include "decoding/store.h"

struct block {
    struct block *next;
    max_align_t memory[];
};

void *store_take(struct dbr_definitions *d, size_t size)
{
    struct block *block = calloc(1, sizeof *block + size);

    if (!block)
        return NULL;
    block->next = d->blocks;
    d->blocks = block;
    return block->memory;
}

void store_give_back(struct dbr_definitions *d, const struct block *mark)
{
    while (d->blocks != mark) {
        struct block *next = d->blocks->next;
        free(d->blocks);
        d->blocks = next;
    }
}

/* The index of the first message with this PGN, or where it would stand. */
static size_t first_of(const struct dbr_definitions *d, uint32_t pgn)
{
    size_t low = 0, high = d->count;

    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (d->messages[middle]->pgn < pgn)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

bool store_same_when(const struct dbr_message *a, const struct dbr_message *b)
{
    /* struct dbr_when holds int32_t alone, so that it has no padding. */
    return memcmp(&a->when, &b->when, sizeof a->when) == 0;
}

/* The index of the message with the key of `message`; else where it is to be inserted. */
static size_t place_of(const struct dbr_definitions *d, const struct dbr_message *message,
                       bool *exists)
{
    size_t at = first_of(d, message->pgn);

    while (at < d->count && d->messages[at]->pgn == message->pgn &&
           !store_same_when(d->messages[at], message))
        at++;
    *exists = at < d->count && d->messages[at]->pgn == message->pgn;
    return at;
}

const struct dbr_message *store_find(const struct dbr_definitions *d,
                                     const struct dbr_message *message)
{
    bool exists;
    size_t at = place_of(d, message, &exists);

    return exists ? d->messages[at] : NULL;
}

static int reserve(struct dbr_definitions *d, size_t more, const char *file,
                   struct dbr_error *error)
{
    size_t capacity = d->capacity ? d->capacity : 64;

    if (more > DBR_DEFINITIONS_MAX - d->count)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "%s: more than %u message definitions", file,
                             DBR_DEFINITIONS_MAX);
    while (capacity < d->count + more)
        capacity *= 2;
    if (capacity == d->capacity)
        return 0;
    struct dbr_message **messages = realloc(d->messages, capacity * sizeof(struct dbr_message *));
    if (!messages)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    d->messages = messages;
    d->capacity = capacity;
    return 0;
}

int store_add(struct dbr_definitions *d, struct dbr_message **messages, size_t count,
              struct dbr_error *error)
{
    size_t more = 0;
    bool exists;

    for (size_t i = 0; i < count; i++) {
        place_of(d, messages[i], &exists);
        more += !exists;
    }
    if (count > 0 && reserve(d, more, messages[0]->file, error) < 0)
        return -1;
    for (size_t i = 0; i < count; i++) {
        size_t at = place_of(d, messages[i], &exists);
        if (!exists) {
            memmove(d->messages + at + 1, d->messages + at,
                    (d->count - at) * sizeof(struct dbr_message *));
            d->count++;
        }
        d->messages[at] = messages[i];
    }
    return 0;
}

struct dbr_definitions *dbr_definitions_new(struct dbr_error *error)
{
    struct dbr_definitions *d = calloc(1, sizeof *d);

    if (!d) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    for (size_t i = 0; i < builtin_file_count; i++)
        if (dbr_definitions_load_text(d, builtin_files[i].name, builtin_files[i].text,
                                      builtin_files[i].length, error) < 0) {
            dbr_definitions_free(d);
            return NULL;
        }
    return d;
}

void dbr_definitions_free(struct dbr_definitions *d)
{
    if (!d)
        return;
    store_give_back(d, NULL);
    free(d->messages);
    free(d);
}

size_t dbr_definitions_count(const struct dbr_definitions *d)
{
    return d->count;
}

const struct dbr_message *dbr_definitions_at(const struct dbr_definitions *d, size_t index)
{
    return d->messages[index];
}

/* The conditions of a `when` on NAME fields, in the order in which a NAME is compared with them. */
#define NAME_CONDITIONS 8u

static void name_conditions(const struct dbr_when *w, int32_t wanted[NAME_CONDITIONS])
{
    const int32_t all[NAME_CONDITIONS] = {
        w->manufacturer_code, w->function,          w->device_class,     w->industry_group,
        w->identity,          w->ecu_instance,      w->function_instance, w->device_class_instance};
    memcpy(wanted, all, sizeof all);
}

bool dbr_when_matches_name(const struct dbr_when *when, uint64_t name)
{
    struct dbr_name_fields f = dbr_name_split(name);
    const int32_t has[NAME_CONDITIONS] = {
        f.manufacturer_code, f.function,     f.device_class,      f.industry_group,
        (int32_t)f.identity, f.ecu_instance, f.function_instance, f.device_class_instance};
    int32_t wanted[NAME_CONDITIONS];

    name_conditions(when, wanted);
    for (size_t i = 0; i < NAME_CONDITIONS; i++)
        if (wanted[i] >= 0 && wanted[i] != has[i])
            return false;
    return true;
}

unsigned dbr_when_name_conditions(const struct dbr_when *when)
{
    int32_t wanted[NAME_CONDITIONS];
    unsigned count = 0;

    name_conditions(when, wanted);
    for (size_t i = 0; i < NAME_CONDITIONS; i++)
        count += wanted[i] >= 0;
    return count;
}

/* Later definitions win over earlier ones with as many conditions. */
const struct dbr_message *dbr_definitions_find(const struct dbr_definitions *d, uint32_t pgn,
                                               uint8_t address, const uint64_t *name,
                                               const struct dbr_message **waits_for_name)
{
    const struct dbr_message *best = NULL, *waits = NULL;
    unsigned best_conditions = 0;

    for (size_t i = first_of(d, pgn); i < d->count && d->messages[i]->pgn == pgn; i++) {
        const struct dbr_message *message = d->messages[i];
        const struct dbr_when *when = &message->when;
        unsigned on_name = dbr_when_name_conditions(when);
        unsigned conditions = on_name + (when->address >= 0);
        if (when->address >= 0 && when->address != address)
            continue;
        if (on_name > 0 && !name) {
            waits = message;
        } else if ((on_name == 0 || dbr_when_matches_name(when, *name)) &&
                   conditions >= best_conditions) {
            best = message;
            best_conditions = conditions;
        }
    }
    if (waits_for_name)
        *waits_for_name = best ? NULL : waits;
    return best;
}
