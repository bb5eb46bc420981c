/* json_values.c - see json.h. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reporting/clean.h"
#include "reporting/json.h"

#define TEXT_MAX 4096u

void json_add_null(cJSON *object, const char *key)
{
    cJSON_AddNullToObject(object, key);
}

/* Printed with so many decimals at most: figures stay the same from machine to machine. */
void json_add_number(cJSON *object, const char *key, double value, unsigned decimals)
{
    char text[64];

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
    cJSON_AddRawToObject(object, key, strcmp(text, "-0") == 0 ? "0" : text);
}

void json_add_count(cJSON *object, const char *key, uint64_t value)
{
    char text[24];

    snprintf(text, sizeof text, "%llu", (unsigned long long)value);
    cJSON_AddRawToObject(object, key, text);
}

void json_add_text(cJSON *object, const char *key, const char *text)
{
    char clean[TEXT_MAX];

    if (text)
        cJSON_AddStringToObject(object, key, clean_text(clean, sizeof clean, text));
    else
        json_add_null(object, key);
}

void json_add_bool(cJSON *object, const char *key, bool value)
{
    cJSON_AddBoolToObject(object, key, value);
}

void json_add_time(cJSON *object, const char *key, int64_t ns, bool known)
{
    json_add_number(object, key, known ? (double)ns / 1e9 : (double)NAN, 6);
}

cJSON *json_add_list(cJSON *object, const char *key)
{
    return cJSON_AddArrayToObject(object, key);
}

cJSON *json_add_item(cJSON *list)
{
    cJSON *item = cJSON_CreateObject();

    if (!cJSON_AddItemToArray(list, item)) {
        cJSON_Delete(item);
        return NULL;
    }
    return item;
}

void json_add_lines(cJSON *object, const char *key, const struct dbr_lines *lines)
{
    cJSON *list = json_add_list(object, key);
    char clean[TEXT_MAX];

    for (size_t i = 0; i < lines->count; i++)
        cJSON_AddItemToArray(
            list, cJSON_CreateString(clean_text(clean, sizeof clean, lines->items[i])));
}

void json_add_spells(cJSON *object, const char *key, const struct dbr_spells *spells)
{
    cJSON *list = json_add_list(object, key);

    for (size_t i = 0; i < spells->count; i++) {
        cJSON *item = json_add_item(list);
        json_add_time(item, "start", spells->items[i].start_ns, true);
        json_add_time(item, "end", spells->items[i].end_ns, !spells->items[i].open);
    }
}
