/* load_messages.c - a definitions document and its messages: JSON to structs. See DEVELOPERS.md. */
#include <string.h>

#include "drawbar/can_id.h"
#include "decoding/load_when.h"
#include "decoding/loader.h"

#define SCHEMA "drawbar-messages/1"
#define PERIOD_MAX_MS 3600000L

void *loader_take(struct loader *l, size_t count, size_t size)
{
    void *memory = store_take(l->definitions, (count ? count : 1) * size);

    if (!memory)
        dbr_error_set(l->reader.error, DBR_ERROR_MEMORY, "out of memory");
    return memory;
}

const char *loader_text(struct loader *l, const char *text)
{
    const char *copy = store_text(l->definitions, text);

    if (!copy)
        dbr_error_set(l->reader.error, DBR_ERROR_MEMORY, "out of memory");
    return copy;
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

static bool load_size(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    static const char *const names[] = {[DBR_PACKING_SINGLE] = "single",
                                        [DBR_PACKING_MULTI] = "multi",
                                        [DBR_PACKING_FAST] = "fast", NULL};
    size_t packing = DBR_PACKING_SINGLE;
    long length = 0;

    if (!json_choice(&l->reader, o, "packing", names, &packing))
        return false;
    message->packing = (enum dbr_packing)packing;
    if (!json_integer(&l->reader, o, "length", JSON_OPTIONAL, 1,
                      (long)loader_room(message->packing), &length))
        return false;
    message->length = (uint16_t)length;
    return true;
}

static bool load_pgn(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    long pgn = 0;

    if (!json_integer(&l->reader, o, "pgn", JSON_REQUIRED, 0, DBR_PGN_MAX, &pgn))
        return false;
    if ((pgn >> 8 & 0xFF) < (long)DBR_PDU2_FORMAT_MIN && (pgn & 0xFF) != 0)
        return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "pgn"),
                         "below PDU format 240 the low byte of a PGN is 0: it is the destination");
    message->pgn = (uint32_t)pgn;
    return true;
}

static bool load_texts(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    const char *name = NULL, *source = l->source, *note = NULL;
    long period = 0;

    if (!json_string(&l->reader, o, "name", JSON_REQUIRED, &name) ||
        !json_integer(&l->reader, o, "period_ms", JSON_OPTIONAL, 1, PERIOD_MAX_MS, &period) ||
        !json_string(&l->reader, o, "source", JSON_OPTIONAL, &source) ||
        !json_string(&l->reader, o, "note", JSON_OPTIONAL, &note))
        return false;
    message->period_ms = (uint32_t)period;
    message->file = l->file;
    message->name = loader_text(l, name);
    message->source = loader_text(l, source);
    return message->name && message->source;
}

static struct dbr_message *load_message(struct loader *l, const cJSON *o)
{
    static const char *const keys[] = {"pgn",     "name",   "length",     "period_ms",
                                       "packing", "source", "confidence", "special",
                                       "signals", "when",   "examples",   "note", NULL};
    enum dbr_special special = DBR_SPECIAL_J1939;

    if (!json_check_object(&l->reader, o, keys))
        return NULL;
    struct dbr_message *message = loader_take(l, 1, sizeof *message);
    bool loaded = message && load_pgn(l, o, message) && load_texts(l, o, message) &&
                  load_size(l, o, message) && load_when(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "when"), &message->when) &&
                  load_confidence(l, o, &message->from_memory) && load_special(l, o, &special) &&
                  load_signals(l, o, message, special) && load_examples(l, o, message);
    return loaded ? message : NULL;
}

/* Within one document a second definition under the same conditions is a slip. */
static bool check_key(struct loader *l, const cJSON *node, struct dbr_message **messages,
                      size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (store_same_key(messages[i], messages[index]))
            return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(node, "pgn"),
                             "PGN %u is defined above already, for the same senders",
                             messages[i]->pgn);
    return true;
}

/* All messages; none is added before all are sound. */
static bool load_list(struct loader *l, const cJSON *list)
{
    size_t total = (size_t)cJSON_GetArraySize(list), count = 0;
    const cJSON *node;

    if (total > DBR_DEFINITIONS_MAX)
        return json_fail(&l->reader, list, "more than %u message definitions",
                         DBR_DEFINITIONS_MAX);
    struct dbr_message **messages = loader_take(l, total, sizeof(struct dbr_message *));
    if (!messages)
        return false;
    cJSON_ArrayForEach(node, list)
    {
        messages[count] = load_message(l, node);
        if (!messages[count] || !check_key(l, node, messages, count))
            return false;
        count++;
    }
    return store_add(l->definitions, messages, count, l->reader.error) == 0;
}

static bool load_document(struct loader *l)
{
    static const char *const keys[] = {"schema", "subject", "source", "messages", NULL};
    const char *schema = NULL, *subject = NULL;
    const cJSON *list = NULL, *root = l->reader.root;

    if (!json_check_object(&l->reader, root, keys) ||
        !json_string(&l->reader, root, "schema", JSON_REQUIRED, &schema))
        return false;
    if (strcmp(schema, SCHEMA) != 0)
        return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(root, "schema"),
                         "the schema must be \"" SCHEMA "\"");
    return json_string(&l->reader, root, "subject", JSON_REQUIRED, &subject) &&
           json_string(&l->reader, root, "source", JSON_REQUIRED, &l->source) &&
           json_array(&l->reader, root, "messages", JSON_REQUIRED, &list) && load_list(l, list);
}

int dbr_definitions_load_text(struct dbr_definitions *definitions, const char *path,
                              const char *text, size_t length, struct dbr_error *error)
{
    struct loader l = {.reader = {.json = {path, text, length}, .error = error},
                       .definitions = definitions};
    const struct block *mark = definitions->blocks;

    if (!json_open(&l.reader))
        return -1;
    l.file = loader_text(&l, path);
    bool loaded = l.file && load_document(&l);
    json_close(&l.reader);
    if (!loaded)
        store_give_back(definitions, mark);
    return loaded ? 0 : -1;
}
