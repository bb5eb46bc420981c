/* json_values.c - see json.h. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/json.h"
#include "text/clean.h"

/* cJSON prints no item of an invalid type: one missing member fails the whole. */
static cJSON *added(cJSON *object, cJSON *item)
{
    if (!item && object)
        object->type = cJSON_Invalid;
    return item;
}

static cJSON *append(cJSON *list, cJSON *item)
{
    if (item && !cJSON_AddItemToArray(list, item)) {
        cJSON_Delete(item);
        item = NULL;
    }
    return added(list, item);
}

void json_add_null(cJSON *object, const char *key)
{
    added(object, cJSON_AddNullToObject(object, key));
}

/* Printed with so many decimals at most: figures stay the same from machine to machine. */
void json_add_number(cJSON *object, const char *key, double value, unsigned decimals)
{
    char text[400]; /* the largest double has 309 digits before the point */

    if (!isfinite(value)) {
        json_add_null(object, key);
        return;
    }
    snprintf(text, sizeof text, "%.*f", (int)decimals, value);
    char *end = text + strlen(text);
    while (decimals > 0 && end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        *--end = '\0';
    added(object, cJSON_AddRawToObject(object, key, strcmp(text, "-0") == 0 ? "0" : text));
}

void json_add_count(cJSON *object, const char *key, uint64_t value)
{
    char text[24];

    snprintf(text, sizeof text, "%" PRIu64, value);
    added(object, cJSON_AddRawToObject(object, key, text));
}

/* A string of its own, cleaned whatever its length; NULL where memory is out. */
static cJSON *clean_string(const char *text)
{
    size_t size = strlen(text) * CLEAN_GROWTH + 1;
    char *clean = malloc(size);
    cJSON *item = clean ? cJSON_CreateString(clean_text(clean, size, text)) : NULL;

    free(clean);
    return item;
}

void json_add_text(cJSON *object, const char *key, const char *text)
{
    cJSON *item = text ? clean_string(text) : cJSON_CreateNull();

    if (item && !cJSON_AddItemToObject(object, key, item)) {
        cJSON_Delete(item);
        item = NULL;
    }
    added(object, item);
}

void json_add_bool(cJSON *object, const char *key, bool value)
{
    added(object, cJSON_AddBoolToObject(object, key, value));
}

void json_add_time(cJSON *object, const char *key, int64_t ns, bool known)
{
    json_add_number(object, key, known ? (double)ns / 1e9 : (double)NAN, 6);
}

cJSON *json_add_object(cJSON *object, const char *key)
{
    return added(object, cJSON_AddObjectToObject(object, key));
}

cJSON *json_add_list(cJSON *object, const char *key)
{
    return added(object, cJSON_AddArrayToObject(object, key));
}

cJSON *json_add_item(cJSON *list)
{
    return append(list, cJSON_CreateObject());
}

void json_add_index(cJSON *list, size_t value)
{
    append(list, cJSON_CreateNumber((double)value));
}

void json_add_string(cJSON *list, const char *text)
{
    append(list, clean_string(text));
}

void json_add_lines(cJSON *object, const char *key, const struct dbr_lines *lines)
{
    cJSON *list = json_add_list(object, key);

    for (size_t i = 0; i < lines->count; i++)
        append(list, clean_string(lines->items[i]));
}

void json_add_spells(cJSON *object, const char *key, const struct dbr_spells *spells)
{
    cJSON *list = json_add_list(object, key);
    char folded[64];

    for (size_t i = 0; i < spells->count; i++) {
        cJSON *item = json_add_item(list);
        json_add_time(item, "start", spells->items[i].start_ns, true);
        json_add_time(item, "end", spells->items[i].end_ns, !spells->items[i].open);
    }
    snprintf(folded, sizeof folded, "%s_folded", key);
    json_add_count(object, folded, spells->folded);
}
