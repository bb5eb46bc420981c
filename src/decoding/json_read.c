/* json_read.c - see json_read.h. */
#include "decoding/json_read.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define REASON_MAX 256u

cJSON *json_parse(struct json_reader *r)
{
    const char *end = NULL;
    cJSON *root = cJSON_ParseWithLengthOpts(r->json.text, r->json.length, &end, 0);
    size_t offset = end ? (size_t)(end - r->json.text) : 0;

    if (!root) {
        json_error_at(r->error, DBR_ERROR_SYNTAX, &r->json, offset, "this is not valid JSON");
        return NULL;
    }
    for (; offset < r->json.length; offset++)
        if (!strchr(" \t\r\n", r->json.text[offset])) {
            json_error_at(r->error, DBR_ERROR_SYNTAX, &r->json, offset,
                          "something follows the end of the JSON document");
            cJSON_Delete(root);
            return NULL;
        }
    return root;
}

static bool fail(struct json_reader *r, const struct json_place *place, const char *format,
                 va_list arguments) __attribute__((format(printf, 3, 0)));

static bool fail(struct json_reader *r, const struct json_place *place, const char *format,
                 va_list arguments)
{
    char reason[REASON_MAX];

    vsnprintf(reason, sizeof reason, format, arguments);
    json_error_at(r->error, DBR_ERROR_SCHEMA, &r->json, json_place_offset(&r->json, place),
                  reason);
    return false;
}

bool json_fail(struct json_reader *r, const struct json_place *place, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    fail(r, place, format, arguments);
    va_end(arguments);
    return false;
}

bool json_fail_member(struct json_reader *r, const struct json_object *o, const char *key,
                      const char *format, ...)
{
    struct json_place place = {o->place, key, 0};
    va_list arguments;

    va_start(arguments, format);
    fail(r, &place, format, arguments);
    va_end(arguments);
    return false;
}

static bool is_among(const char *key, const char *const *keys)
{
    for (; *keys; keys++)
        if (strcmp(*keys, key) == 0)
            return true;
    return false;
}

bool json_check_object(struct json_reader *r, const struct json_object *o,
                       const char *const *keys)
{
    const cJSON *member;

    if (!cJSON_IsObject(o->node))
        return json_fail(r, o->place, "an object is expected here");
    cJSON_ArrayForEach(member, o->node)
    {
        if (!is_among(member->string, keys))
            return json_fail_member(r, o, member->string, "\"%.60s\" is no key that is known here",
                                    member->string);
        for (const cJSON *other = member->next; other; other = other->next)
            if (strcmp(other->string, member->string) == 0)
                return json_fail_member(r, o, member->string, "\"%.60s\" stands here twice",
                                        member->string);
    }
    return true;
}

/* The member, or NULL with `*ok` telling whether its absence is allowed. */
static const cJSON *find(struct json_reader *r, const struct json_object *o, const char *key,
                         enum json_need need, bool *ok)
{
    const cJSON *member = cJSON_GetObjectItemCaseSensitive(o->node, key);

    *ok = member != NULL || need == JSON_OPTIONAL;
    if (!*ok)
        json_fail(r, o->place, "\"%s\" is missing", key);
    return member;
}

bool json_string(struct json_reader *r, const struct json_object *o, const char *key,
                 enum json_need need, const char **out)
{
    bool ok;
    const cJSON *member = find(r, o, key, need, &ok);

    if (!member)
        return ok;
    if (!cJSON_IsString(member) || member->valuestring[0] == '\0')
        return json_fail_member(r, o, key, "\"%s\" must be a text that is not empty", key);
    *out = member->valuestring;
    return true;
}

bool json_number(struct json_reader *r, const struct json_object *o, const char *key,
                 enum json_need need, double *out)
{
    bool ok;
    const cJSON *member = find(r, o, key, need, &ok);

    if (!member)
        return ok;
    if (!cJSON_IsNumber(member) || !isfinite(member->valuedouble))
        return json_fail_member(r, o, key, "\"%s\" must be a number", key);
    *out = member->valuedouble;
    return true;
}

bool json_integer(struct json_reader *r, const struct json_object *o, const char *key,
                  enum json_need need, long low, long high, long *out)
{
    double number = 0;

    if (!json_number(r, o, key, need, &number))
        return false;
    if (!cJSON_GetObjectItemCaseSensitive(o->node, key))
        return true;
    if (number < (double)low || number > (double)high || floor(number) < number)
        return json_fail_member(r, o, key, "\"%s\" must be a whole number from %ld to %ld", key,
                                low, high);
    *out = (long)number;
    return true;
}

bool json_flag(struct json_reader *r, const struct json_object *o, const char *key, bool *out)
{
    const cJSON *member = cJSON_GetObjectItemCaseSensitive(o->node, key);

    if (!member)
        return true;
    if (!cJSON_IsBool(member))
        return json_fail_member(r, o, key, "\"%s\" must be true or false", key);
    *out = cJSON_IsTrue(member);
    return true;
}

bool json_array(struct json_reader *r, const struct json_object *o, const char *key,
                enum json_need need, const cJSON **out)
{
    bool ok;
    const cJSON *member = find(r, o, key, need, &ok);

    if (!member)
        return ok;
    if (!cJSON_IsArray(member))
        return json_fail_member(r, o, key, "\"%s\" must be an array", key);
    *out = member;
    return true;
}
