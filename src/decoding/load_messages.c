/* load_messages.c - a definitions document and its messages: JSON to structs. See DEVELOPERS.md. */
#include <stdio.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "drawbar/identity.h"
#include "drawbar/trouble_code.h"
#include "decoding/load_when.h"
#include "decoding/loader.h"

#define SCHEMA "drawbar-messages/1"
#define PERIOD_MAX_MS 3600000L
#define NUMBER_MARK "{n}" /* in the name of a range: which of its messages */

void *loader_take(struct loader *l, size_t count, size_t size)
{
    void *memory = store_take(l->definitions, (count ? count : 1) * size);

    if (!memory) {
        dbr_error_set(l->reader.error, DBR_ERROR_MEMORY, "out of memory");
        l->exhausted = true;
        l->reader.mistakes++;
    }
    return memory;
}

const char *loader_text(struct loader *l, const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = loader_take(l, size, 1);

    return copy ? memcpy(copy, text, size) : NULL;
}

bool loader_unharmed(const struct loader *l, size_t mistakes)
{
    return l->reader.mistakes == mistakes;
}

bool load_special(struct loader *l, const cJSON *o, enum dbr_special *special)
{
    static const char *const names[] = {
        [DBR_SPECIAL_J1939] = "j1939", [DBR_SPECIAL_NMEA2000] = "nmea2000",
        [DBR_SPECIAL_NONE] = "none", NULL};
    size_t choice = (size_t)*special;

    if (!json_choice(&l->reader, o, "special", names, &choice))
        return false;
    *special = (enum dbr_special)choice;
    return true;
}

bool load_confidence(struct loader *l, const cJSON *o, bool *from_memory)
{
    static const char *const names[] = {"confirmed", "memory", NULL};
    size_t choice = 0;

    if (!json_choice(&l->reader, o, "confidence", names, &choice))
        return false;
    *from_memory = choice == 1;
    return true;
}

unsigned loader_room(enum dbr_packing packing)
{
    static const unsigned bytes[] = {
        [DBR_PACKING_SINGLE] = 8,                    /* one classical frame */
        [DBR_PACKING_MULTI] = DBR_EXAMPLE_BYTES_MAX, /* SAE J1939-21 transport */
        [DBR_PACKING_FAST] = 223,                    /* NMEA 2000: 6 + 31 * 7 */
    };
    return bytes[packing];
}

static void load_size(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    static const char *const names[] = {[DBR_PACKING_SINGLE] = "single",
                                        [DBR_PACKING_MULTI] = "multi",
                                        [DBR_PACKING_FAST] = "fast", NULL};
    size_t packing = DBR_PACKING_SINGLE;
    long length = 0;

    l->room = 0;
    if (!json_choice(&l->reader, o, "packing", names, &packing))
        return;
    message->packing = (enum dbr_packing)packing;
    unsigned room = loader_room(message->packing);
    if (!json_integer(&l->reader, o, "length", JSON_OPTIONAL, 1, (long)room, &length))
        return;
    message->length = (uint16_t)length;
    l->room = length > 0 ? (unsigned)length : room;
}

static bool is_addressed(long pgn)
{
    return (pgn >> 8 & 0xFF) < (long)DBR_PDU2_FORMAT_MIN;
}

/* A group, or a range of groups of one layout: those from `message->pgn` to `*last`. */
static void load_pgn(struct loader *l, const cJSON *o, struct dbr_message *message, uint32_t *last)
{
    const cJSON *node = cJSON_GetObjectItemCaseSensitive(o, "pgn");
    const cJSON *last_node = cJSON_GetObjectItemCaseSensitive(o, "pgn_last");
    long pgn = 0, end;

    if (!json_integer(&l->reader, o, "pgn", JSON_REQUIRED, 0, DBR_PGN_MAX, &pgn))
        return;
    message->pgn = *last = (uint32_t)pgn;
    if (is_addressed(pgn) && ((pgn & 0xFF) != 0 || last_node)) {
        json_fail(&l->reader, last_node ? last_node : node,
                  "below PDU format 240 the low byte of a PGN is 0: it is the destination");
        return;
    }
    end = pgn;
    if (json_integer(&l->reader, o, "pgn_last", JSON_OPTIONAL, pgn, pgn | 0xFF, &end))
        *last = (uint32_t)end;
}

static void load_texts(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    const char *name = "", *source = l->source, *note = NULL;
    long period = 0;

    json_string(&l->reader, o, "name", JSON_REQUIRED, &name);
    json_integer(&l->reader, o, "period_ms", JSON_OPTIONAL, 1, PERIOD_MAX_MS, &period);
    json_string(&l->reader, o, "source", JSON_OPTIONAL, &source);
    json_string(&l->reader, o, "note", JSON_OPTIONAL, &note);
    message->period_ms = (uint32_t)period;
    message->file = l->file;
    message->name = loader_text(l, name);
    message->source = loader_text(l, source);
}

static void check_range_name(struct loader *l, const cJSON *o, const struct dbr_message *message)
{
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(o, "name");

    if (cJSON_GetObjectItemCaseSensitive(o, "pgn_last") && message->name &&
        !strstr(message->name, NUMBER_MARK) && cJSON_IsString(name))
        json_fail(&l->reader, name,
                  "the name of a range needs " NUMBER_MARK ", where each message has its number");
}

/* What an object of "messages" holds. */
struct entry {
    const cJSON *node;
    struct dbr_message *message;
    uint32_t last; /* PGN */
};

static bool is_read_apart(uint32_t pgn)
{
    return pgn == DBR_PGN_PROCESS_DATA || pgn == DBR_PGN_DM1 || pgn == DBR_PGN_DM2 ||
           pgn == DBR_PGN_DM13 || dbr_told_group_of(pgn) != DBR_TOLD_GROUPS;
}

/*
 * Why a message has no signals: the program reads it apart, and its examples are data that the
 * program is tested with; or, in words, why a name alone is known.
 */
static void load_exemption(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    const cJSON *apart = cJSON_GetObjectItemCaseSensitive(o, "read_apart");
    const cJSON *name_only = cJSON_GetObjectItemCaseSensitive(o, "name_only");
    const char *reason = NULL;

    json_string(&l->reader, o, "name_only", JSON_OPTIONAL, &reason);
    message->read_apart = cJSON_IsTrue(apart);
    message->name_only = reason != NULL;
    if (apart && !cJSON_IsTrue(apart))
        json_fail(&l->reader, apart, "read_apart is true or left out");
    else if (apart && !is_read_apart(message->pgn))
        json_fail(&l->reader, apart, "the program does not read PGN %u apart", message->pgn);
    if (name_only && (apart || message->signal_count > 0))
        json_fail(&l->reader, name_only, "a message with a name only has no content");
}

/* False where it cannot be told what the definition is for. */
static bool load_message(struct loader *l, const cJSON *o, struct entry *entry)
{
    static const char *const keys[] = {"pgn",     "pgn_last", "name",       "length",
                                       "packing", "source",   "confidence", "special",
                                       "signals", "when",     "examples",   "note",
                                       "period_ms", "read_apart", "name_only", NULL};
    enum dbr_special special = DBR_SPECIAL_J1939;
    struct dbr_message *message = loader_take(l, 1, sizeof *message);

    json_check_object(&l->reader, o, keys);
    if (!message || !cJSON_IsObject(o))
        return false;
    *entry = (struct entry){.node = o, .message = message};
    size_t before = l->reader.mistakes;
    load_pgn(l, o, message, &entry->last);
    bool known = loader_unharmed(l, before);
    load_texts(l, o, message);
    check_range_name(l, o, message);
    load_size(l, o, message);
    known = load_when(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "when"), &message->when) &&
            known;
    load_confidence(l, o, &message->from_memory);
    load_special(l, o, &special);
    load_signals(l, o, message, special);
    load_exemption(l, o, message);
    load_examples(l, o, message);
    l->messages += entry->last - message->pgn + 1;
    return known && !l->exhausted;
}

/* Within one document a second definition under the same conditions is a slip. */
static void check_above(struct loader *l, const struct entry *entries, size_t index)
{
    const struct entry *e = &entries[index];

    for (const struct entry *other = entries; other < e; other++) {
        bool later = other->message->pgn > e->message->pgn;
        uint32_t shared = later ? other->message->pgn : e->message->pgn;
        if (shared > e->last || shared > other->last ||
            !store_same_when(e->message, other->message))
            continue;
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(e->node, "pgn"),
                  "PGN %u is defined above already, for the same senders", shared);
        return;
    }
}

/* Two files that are used together must not define one group twice: the later would win unseen. */
static void check_other_files(struct loader *l, const struct entry *e)
{
    struct dbr_message sought = *e->message;

    for (sought.pgn = e->message->pgn; sought.pgn <= e->last; sought.pgn++) {
        const struct dbr_message *other = store_find(l->definitions, &sought);
        if (!other)
            continue;
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(e->node, "pgn"),
                  "PGN %u is defined in %.80s already, for the same senders", sought.pgn,
                  other->file);
        return;
    }
}

/* The name with the number of the message in place of the mark. */
static const char *numbered_name(struct loader *l, const char *name, unsigned number)
{
    const char *mark = strstr(name, NUMBER_MARK);
    size_t size = strlen(name) + 16;

    if (!mark)
        return name;
    char *numbered = loader_take(l, size, 1);
    if (numbered)
        snprintf(numbered, size, "%.*s%u%s", (int)(mark - name), name, number,
                 mark + strlen(NUMBER_MARK));
    return numbered;
}

/* Writes out ranges: each message of one differs in PGN and name alone. */
static void add_all(struct loader *l, const cJSON *list, const struct entry *entries, size_t count)
{
    size_t total = 0, made = 0;

    for (size_t i = 0; i < count; i++)
        total += entries[i].last - entries[i].message->pgn + 1;
    if (total > DBR_DEFINITIONS_MAX) {
        json_fail(&l->reader, list, "more than %u message definitions", DBR_DEFINITIONS_MAX);
        return;
    }
    struct dbr_message **messages = loader_take(l, total, sizeof(struct dbr_message *));
    struct dbr_message *copies = loader_take(l, total, sizeof *copies);
    if (!messages || !copies)
        return;
    for (size_t i = 0; i < count; i++) {
        const struct dbr_message *first = entries[i].message;
        for (uint32_t pgn = first->pgn; pgn <= entries[i].last; pgn++, made++) {
            copies[made] = *first;
            copies[made].pgn = pgn;
            if (entries[i].last > first->pgn)
                copies[made].name = numbered_name(l, first->name, pgn - first->pgn);
            messages[made] = &copies[made];
        }
    }
    if (!l->exhausted && store_add(l->definitions, messages, total, l->reader.error) < 0) {
        l->exhausted = true; /* of memory, or of room for definitions */
        l->reader.mistakes++;
    }
}

/* All messages; none is added before all are sound. */
static void load_list(struct loader *l, const cJSON *list)
{
    size_t total = (size_t)cJSON_GetArraySize(list), count = 0;
    const cJSON *node;

    if (total > DBR_DEFINITIONS_MAX) {
        json_fail(&l->reader, list, "more than %u message definitions", DBR_DEFINITIONS_MAX);
        return;
    }
    struct entry *entries = loader_take(l, total, sizeof *entries);
    if (!entries)
        return;
    cJSON_ArrayForEach(node, list)
    {
        if (!load_message(l, node, &entries[count]))
            continue;
        check_above(l, entries, count);
        if (l->exhausted)
            return;
        if (l->strict)
            check_other_files(l, &entries[count]);
        count++;
    }
    if (loader_unharmed(l, 0))
        add_all(l, list, entries, count);
}

static void load_document(struct loader *l)
{
    static const char *const keys[] = {"schema", "subject", "source", "states", "messages", NULL};
    const char *schema = NULL, *subject = NULL;
    const cJSON *list = NULL, *root = l->reader.root;

    json_check_object(&l->reader, root, keys);
    if (!cJSON_IsObject(root) ||
        !json_string(&l->reader, root, "schema", JSON_REQUIRED, &schema))
        return;
    if (strcmp(schema, SCHEMA) != 0) {
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(root, "schema"),
                  "the schema must be \"" SCHEMA "\"");
        return;
    }
    l->source = "";
    json_string(&l->reader, root, "subject", JSON_REQUIRED, &subject);
    json_string(&l->reader, root, "source", JSON_REQUIRED, &l->source);
    load_state_lists(l, root);
    if (json_array(&l->reader, root, "messages", JSON_REQUIRED, &list))
        load_list(l, list);
}

bool loader_run(struct loader *l, const char *path, const char *text, size_t length)
{
    const struct block *mark = l->definitions->blocks;

    l->reader.json = (struct json_text){path, text, length};
    if (!json_open(&l->reader)) {
        l->exhausted = l->reader.out_of_memory;
        return false;
    }
    l->file = loader_text(l, path);
    if (l->file)
        load_document(l);
    json_close(&l->reader);
    if (!loader_unharmed(l, 0))
        store_give_back(l->definitions, mark);
    return loader_unharmed(l, 0);
}

int dbr_definitions_load_text(struct dbr_definitions *definitions, const char *path,
                              const char *text, size_t length, struct dbr_error *error)
{
    struct loader l = {.reader = {.error = error}, .definitions = definitions};

    return loader_run(&l, path, text, length) ? 0 : -1;
}
