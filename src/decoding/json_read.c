/* json_read.c - see json_read.h. */
#include "decoding/json_read.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "decoding/json_sound.h"
#include "drawbar/limits.h"

#define REASON_MAX 256u

/* To find a place takes a walk through the whole text: not for what is only counted. */
static bool is_told(const struct json_reader *r)
{
    return r->mistakes == 0 || (r->mistake && r->mistakes < DBR_MISTAKES_TOLD_MAX);
}

static void tell(struct json_reader *r, enum dbr_error_code code, size_t offset,
                 const char *reason)
{
    struct dbr_error error;
    bool told = is_told(r);

    r->mistakes++;
    if (!told)
        return;
    json_error_at(&error, code, &r->json, offset, reason);
    if (r->mistakes == 1 && r->error)
        *r->error = error;
    if (r->mistake)
        r->mistake(r->context, &error);
}

/* The parser gives nothing also where memory ran out: then it is no mistake of the text. */
static bool tell_unparsed(struct json_reader *r, size_t offset)
{
    switch (json_soundness(r->json.text, r->json.length)) {
    case JSON_SOUND:
        r->out_of_memory = true;
        dbr_error_set(r->error, DBR_ERROR_MEMORY, "out of memory");
        break;
    case JSON_TOO_DEEP:
        tell(r, DBR_ERROR_LIMIT, offset, "lists and objects stand in each other too deep here");
        break;
    case JSON_UNSOUND:
        tell(r, DBR_ERROR_SYNTAX, offset, "not valid JSON from here on");
        break;
    }
    return false;
}

bool json_open(struct json_reader *r)
{
    const char *end = NULL;

    r->root = cJSON_ParseWithLengthOpts(r->json.text, r->json.length, &end, 0);
    size_t offset = end ? (size_t)(end - r->json.text) : 0;
    if (!r->root)
        return tell_unparsed(r, offset);
    for (; offset < r->json.length; offset++)
        if (!memchr(" \t\r\n", r->json.text[offset], 4)) {
            tell(r, DBR_ERROR_SYNTAX, offset, "the JSON document ended before this");
            json_close(r);
            return false;
        }
    return true;
}

void json_close(struct json_reader *r)
{
    cJSON_Delete(r->root);
    r->root = NULL;
}

static void fail(struct json_reader *r, const cJSON *node, enum json_part part,
                 const char *format, va_list arguments) __attribute__((format(printf, 4, 0)));

static void fail(struct json_reader *r, const cJSON *node, enum json_part part,
                 const char *format, va_list arguments)
{
    char reason[REASON_MAX];

    vsnprintf(reason, sizeof reason, format, arguments);
    size_t offset = is_told(r) ? json_offset(&r->json, r->root, node, part) : 0;
    tell(r, DBR_ERROR_SCHEMA, offset, reason);
}

bool json_fail(struct json_reader *r, const cJSON *node, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    fail(r, node, JSON_VALUE, format, arguments);
    va_end(arguments);
    return false;
}

bool json_fail_key(struct json_reader *r, const cJSON *member, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    fail(r, member, JSON_KEY, format, arguments);
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

/* The first member with the key of `member` is `member` itself. */
static bool check_single(struct json_reader *r, const cJSON *object, const cJSON *member)
{
    if (cJSON_GetObjectItemCaseSensitive(object, member->string) == member)
        return true;
    return json_fail_key(r, member, "\"%.60s\" stands here for the second time", member->string);
}

bool json_check_object(struct json_reader *r, const cJSON *node, const char *const *keys)
{
    const cJSON *member;
    bool sound = true;

    if (!cJSON_IsObject(node))
        return json_fail(r, node, "an object { } must stand here");
    cJSON_ArrayForEach(member, node)
    {
        if (!is_among(member->string, keys))
            sound = json_fail_key(r, member, "\"%.60s\" is not a known key here", member->string);
        else
            sound = check_single(r, node, member) && sound;
    }
    return sound;
}

bool json_check_map(struct json_reader *r, const cJSON *node, size_t most)
{
    const cJSON *member;
    size_t count = 0;
    bool sound = true;

    if (!cJSON_IsObject(node) || !node->child)
        return json_fail(r, node, "an object { } with at least one member must stand here");
    cJSON_ArrayForEach(member, node)
    {
        if (++count > most)
            return json_fail_key(r, member, "at most %zu members may stand here", most);
        sound = check_single(r, node, member) && sound;
    }
    return sound;
}

bool json_member(struct json_reader *r, const cJSON *object, const char *key,
                 enum json_need need, const cJSON **out)
{
    *out = cJSON_GetObjectItemCaseSensitive(object, key);
    if (!*out && need == JSON_REQUIRED)
        return json_fail(r, object, "\"%s\" is missing in this object", key);
    return true;
}

bool json_string(struct json_reader *r, const cJSON *object, const char *key,
                 enum json_need need, const char **out)
{
    const cJSON *member;

    if (!json_member(r, object, key, need, &member))
        return false;
    if (!member)
        return true;
    if (!cJSON_IsString(member) || member->valuestring[0] == '\0')
        return json_fail(r, member, "\"%s\" must be a text that is not empty", key);
    *out = member->valuestring;
    return true;
}

bool json_number(struct json_reader *r, const cJSON *object, const char *key, double *out)
{
    const cJSON *member;

    if (!json_member(r, object, key, JSON_OPTIONAL, &member))
        return false;
    if (!member)
        return true;
    if (!cJSON_IsNumber(member) || !isfinite(member->valuedouble))
        return json_fail(r, member, "\"%s\" must be a number", key);
    *out = member->valuedouble;
    return true;
}

bool json_integer(struct json_reader *r, const cJSON *object, const char *key,
                  enum json_need need, long low, long high, long *out)
{
    const cJSON *member;

    if (!json_member(r, object, key, need, &member))
        return false;
    if (!member)
        return true;
    double number = cJSON_IsNumber(member) ? member->valuedouble : (double)NAN;
    if (!(number >= (double)low && number <= (double)high) || floor(number) < number)
        return json_fail(r, member, "\"%s\" must be a whole number from %ld to %ld", key, low,
                         high);
    *out = (long)number;
    return true;
}

bool json_flag(struct json_reader *r, const cJSON *object, const char *key, bool *out)
{
    const cJSON *member;

    if (!json_member(r, object, key, JSON_OPTIONAL, &member))
        return false;
    if (!member)
        return true;
    if (!cJSON_IsBool(member))
        return json_fail(r, member, "\"%s\" must be true or false", key);
    *out = cJSON_IsTrue(member);
    return true;
}

bool json_array(struct json_reader *r, const cJSON *object, const char *key,
                enum json_need need, const cJSON **out)
{
    if (!json_member(r, object, key, need, out))
        return false;
    if (*out && !cJSON_IsArray(*out))
        return json_fail(r, *out, "\"%s\" must be an array [ ]", key);
    return true;
}

/* "a, b or c" */
static void list_names(const char *const *names, char *out, size_t size)
{
    size_t used = 0;

    for (size_t i = 0; names[i] && used < size; i++) {
        const char *before = i == 0 ? "" : names[i + 1] ? ", " : " or ";
        used += (size_t)snprintf(out + used, size - used, "%s%s", before, names[i]);
    }
}

bool json_choice(struct json_reader *r, const cJSON *object, const char *key,
                 const char *const *names, size_t *out)
{
    const char *name = NULL;
    char all[REASON_MAX / 2] = "";

    if (!json_string(r, object, key, JSON_OPTIONAL, &name))
        return false;
    if (!name)
        return true;
    for (size_t i = 0; names[i]; i++)
        if (strcmp(name, names[i]) == 0) {
            *out = i;
            return true;
        }
    list_names(names, all, sizeof all);
    return json_fail(r, cJSON_GetObjectItemCaseSensitive(object, key), "\"%s\" must be %s", key,
                     all);
}
