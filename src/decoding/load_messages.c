/* load_messages.c - definitions from JSON texts, files and directories. See DEVELOPERS.md. */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/can_id.h"
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

void loader_element_init(struct loader_element *e, const struct json_object *parent,
                         const char *key, size_t index, const cJSON *node)
{
    e->array = (struct json_place){parent->place, key, 0};
    e->element = (struct json_place){&e->array, NULL, index};
    e->object = (struct json_object){node, &e->element};
}

bool load_special(struct loader *l, const struct json_object *o, enum dbr_special *special)
{
    static const char *const names[] = {"j1939", "nmea2000", "none"};
    const char *name = NULL;

    if (!json_string(&l->reader, o, "special", JSON_OPTIONAL, &name))
        return false;
    if (!name)
        return true;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i]) == 0) {
            *special = (enum dbr_special)i;
            return true;
        }
    return json_fail_member(&l->reader, o, "special",
                            "\"special\" must be j1939, nmea2000 or none");
}

static bool load_packing(struct loader *l, const struct json_object *o,
                         struct dbr_message *message)
{
    static const char *const names[] = {"single", "multi", "fast"};
    const char *name = "single";

    if (!json_string(&l->reader, o, "packing", JSON_OPTIONAL, &name))
        return false;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i]) == 0) {
            message->packing = (enum dbr_packing)i;
            return true;
        }
    return json_fail_member(&l->reader, o, "packing",
                            "\"packing\" must be single, multi or fast");
}

/* Conditions: an address, or fields of the NAME within their widths (ISO 11783-5 4.3). */
static bool load_when(struct loader *l, const struct json_object *message, struct dbr_when *when)
{
    static const char *const keys[] = {
        "address",      "manufacturer_code", "function",          "device_class", "industry_group",
        "identity",     "ecu_instance",      "function_instance", "device_class_instance", NULL};
    static const long highest[] = {253, 2047, 255, 127, 7, 0x1FFFFF, 7, 31, 15};
    int32_t *members[] = {&when->address,        &when->manufacturer_code, &when->function,
                          &when->device_class,   &when->industry_group,    &when->identity,
                          &when->ecu_instance,   &when->function_instance,
                          &when->device_class_instance};
    struct json_place place = {message->place, "when", 0};
    struct json_object o = {cJSON_GetObjectItemCaseSensitive(message->node, "when"), &place};

    for (size_t i = 0; keys[i]; i++)
        *members[i] = -1;
    if (!o.node)
        return true;
    if (!json_check_object(&l->reader, &o, keys))
        return false;
    for (size_t i = 0; keys[i]; i++) {
        long value = -1;
        if (!json_integer(&l->reader, &o, keys[i], JSON_OPTIONAL, 0, highest[i], &value))
            return false;
        *members[i] = (int32_t)value;
    }
    return true;
}

static bool load_head(struct loader *l, const struct json_object *o, struct dbr_message *message)
{
    long pgn = 0, length = 0, period = 0;
    const char *name = NULL, *source = l->source, *confidence = NULL;
    struct json_reader *r = &l->reader;

    if (!json_integer(r, o, "pgn", JSON_REQUIRED, 0, DBR_PGN_MAX, &pgn) ||
        !json_string(r, o, "name", JSON_REQUIRED, &name) ||
        !json_integer(r, o, "length", JSON_OPTIONAL, 1, DBR_EXAMPLE_BYTES_MAX, &length) ||
        !json_integer(r, o, "period_ms", JSON_OPTIONAL, 1, PERIOD_MAX_MS, &period) ||
        !json_string(r, o, "source", JSON_OPTIONAL, &source) ||
        !json_string(r, o, "confidence", JSON_OPTIONAL, &confidence))
        return false;
    if ((pgn >> 8 & 0xFF) < (long)DBR_PDU2_FORMAT_MIN && (pgn & 0xFF) != 0)
        return json_fail_member(r, o, "pgn",
                                "below PDU format 240 the low byte is a destination and must be 0");
    message->pgn = (uint32_t)pgn;
    message->length = (uint16_t)length;
    message->period_ms = (uint32_t)period;
    message->file = l->file;
    message->name = loader_text(l, name);
    message->source = loader_text(l, source);
    return message->name && message->source;
}

static struct dbr_message *load_message(struct loader *l, const struct json_object *o)
{
    static const char *const keys[] = {"pgn",     "name",   "length",     "period_ms",
                                       "packing", "source", "confidence", "special",
                                       "signals", "when",   "examples",   "note", NULL};
    enum dbr_special special = DBR_SPECIAL_J1939;

    if (!json_check_object(&l->reader, o, keys))
        return NULL;
    struct dbr_message *message = loader_take(l, 1, sizeof *message);
    bool loaded = message && load_head(l, o, message) && load_packing(l, o, message) &&
                  load_when(l, o, &message->when) && load_special(l, o, &special) &&
                  load_signals(l, o, message, special) && load_examples(l, o, message);
    return loaded ? message : NULL;
}

/* All messages of a document; none is added before all are sound. */
static bool load_document(struct loader *l, const cJSON *root)
{
    static const char *const keys[] = {"schema", "subject", "source", "messages", NULL};
    struct json_object o = {root, NULL};
    const char *schema = NULL, *subject = NULL;
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_check_object(&l->reader, &o, keys) ||
        !json_string(&l->reader, &o, "schema", JSON_REQUIRED, &schema) ||
        !json_string(&l->reader, &o, "subject", JSON_REQUIRED, &subject) ||
        !json_string(&l->reader, &o, "source", JSON_REQUIRED, &l->source) ||
        !json_array(&l->reader, &o, "messages", JSON_REQUIRED, &list))
        return false;
    if (strcmp(schema, SCHEMA) != 0)
        return json_fail_member(&l->reader, &o, "schema", "the schema must be " SCHEMA);
    size_t total = (size_t)cJSON_GetArraySize(list);
    struct dbr_message **messages = loader_take(l, total, sizeof(struct dbr_message *));
    if (!messages)
        return false;
    cJSON_ArrayForEach(node, list)
    {
        struct loader_element e;
        loader_element_init(&e, &o, "messages", count, node);
        messages[count] = load_message(l, &e.object);
        if (!messages[count++])
            return false;
    }
    for (size_t i = 0; i < count; i++)
        if (store_add(l->definitions, messages[i], l->reader.error) < 0)
            return false;
    return true;
}

int dbr_definitions_load_text(struct dbr_definitions *definitions, const char *path,
                              const char *text, size_t length, struct dbr_error *error)
{
    struct loader l = {.reader = {{path, text, length}, error}, .definitions = definitions};
    cJSON *root = json_parse(&l.reader);

    if (!root)
        return -1;
    l.file = loader_text(&l, path);
    bool loaded = l.file && load_document(&l, root);
    cJSON_Delete(root);
    return loaded ? 0 : -1;
}

/* A whole file in memory that the caller frees; NULL after an error. */
static char *read_file(const char *path, size_t *length, struct dbr_error *error)
{
    FILE *file = fopen(path, "rb");
    char *text = file ? malloc(DBR_DEFINITION_FILE_MAX + 1) : NULL;

    if (!file || !text) {
        dbr_error_set(error, file ? DBR_ERROR_MEMORY : DBR_ERROR_OPEN, "%s: %s", path,
                      file ? "out of memory" : strerror(errno));
        if (file)
            fclose(file);
        return NULL;
    }
    *length = fread(text, 1, DBR_DEFINITION_FILE_MAX + 1, file);
    bool failed = ferror(file) != 0;
    fclose(file);
    if (!failed && *length <= DBR_DEFINITION_FILE_MAX)
        return text;
    if (failed)
        dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read", path);
    else
        dbr_error_set(error, DBR_ERROR_LIMIT, "%s: is larger than %u bytes", path,
                      DBR_DEFINITION_FILE_MAX);
    free(text);
    return NULL;
}

int dbr_definitions_load_file(struct dbr_definitions *definitions, const char *path,
                              struct dbr_error *error)
{
    size_t length;
    char *text = read_file(path, &length, error);

    if (!text)
        return -1;
    int result = dbr_definitions_load_text(definitions, path, text, length, error);
    free(text);
    return result;
}

static int is_definition_file(const struct dirent *entry)
{
    size_t length = strlen(entry->d_name);
    return length > 5 && entry->d_name[0] != '.' &&
           strcmp(entry->d_name + length - 5, ".json") == 0;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static int load_entry(struct dbr_definitions *definitions, const char *directory,
                      const char *name, struct dbr_error *error)
{
    size_t size = strlen(directory) + strlen(name) + 2;
    char *path = malloc(size);

    if (!path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    snprintf(path, size, "%s/%s", directory, name);
    int result = dbr_definitions_load_file(definitions, path, error);
    free(path);
    return result;
}

int dbr_definitions_load_directory(struct dbr_definitions *definitions, const char *path,
                                   struct dbr_error *error)
{
    struct dirent **entries;
    int count = scandir(path, &entries, is_definition_file, by_name);
    int result = 0;

    if (count < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: %s", path, strerror(errno));
    if (count == 0)
        result = dbr_error_set(error, DBR_ERROR_EMPTY, "%s: holds no .json files", path);
    for (int i = 0; i < count; i++) {
        if (result == 0)
            result = load_entry(definitions, path, entries[i]->d_name, error);
        free(entries[i]);
    }
    free(entries);
    return result;
}
