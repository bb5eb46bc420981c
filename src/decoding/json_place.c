/* json_place.c - see json_place.h. */
#include "decoding/json_place.h"

#include <stdbool.h>

#include <stdio.h>
#include <string.h>

#define QUOTED_MAX 100 /* characters of a line that are shown */
#define BEFORE_MAX 60  /* of these, before the place */

/* The scanner: moves over valid JSON. */
struct scan {
    const char *at, *end;
};

static void skip_space(struct scan *s)
{
    while (s->at < s->end && strchr(" \t\r\n", *s->at))
        s->at++;
}

static void skip_string(struct scan *s)
{
    for (s->at++; s->at < s->end && *s->at != '"'; s->at++)
        if (*s->at == '\\')
            s->at++;
    if (s->at < s->end)
        s->at++;
}

/* Any value; containers by counting their brackets. */
static void skip_value(struct scan *s)
{
    size_t depth = 0;

    do {
        skip_space(s);
        if (s->at >= s->end)
            return;
        if (*s->at == '"') {
            skip_string(s);
        } else {
            depth += *s->at == '{' || *s->at == '[';
            depth -= depth > 0 && (*s->at == '}' || *s->at == ']');
            s->at++;
        }
    } while (depth > 0);
    while (s->at < s->end && !strchr(",]}: \t\r\n", *s->at))
        s->at++; /* the rest of a number or word */
}

static void skip_comma(struct scan *s)
{
    skip_space(s);
    if (s->at < s->end && *s->at == ',')
        s->at++;
    skip_space(s);
}

/* Goes from an object to the value of its member `key`. */
static bool enter_member(struct scan *s, const char *key)
{
    size_t length = strlen(key);

    for (s->at++, skip_space(s); s->at < s->end && *s->at == '"'; skip_comma(s)) {
        const char *name = s->at + 1;
        skip_string(s);
        bool found = (size_t)(s->at - 1 - name) == length && memcmp(name, key, length) == 0;
        skip_space(s);
        s->at++; /* the colon */
        skip_space(s);
        if (found)
            return true;
        skip_value(s);
    }
    return false;
}

/* Goes from an array to its element `index`. */
static bool enter_element(struct scan *s, size_t index)
{
    for (s->at++, skip_space(s); s->at < s->end && *s->at != ']'; skip_comma(s)) {
        if (index-- == 0)
            return true;
        skip_value(s);
    }
    return false;
}

static bool enter(struct scan *s, const struct json_place *place)
{
    if (!place)
        return true;
    if (!enter(s, place->up))
        return false;
    struct scan before = *s;
    bool found = place->key ? *s->at == '{' && enter_member(s, place->key)
                            : *s->at == '[' && enter_element(s, place->index);
    if (!found)
        *s = before;
    return found;
}

size_t json_place_offset(const struct json_text *json, const struct json_place *place)
{
    struct scan s = {json->text, json->text + json->length};

    skip_space(&s);
    enter(&s, place);
    return (size_t)(s.at - json->text);
}

static char shown(char c)
{
    return (unsigned char)c < ' ' && c != '\t' ? '?' : c;
}

int json_error_at(struct dbr_error *error, enum dbr_error_code code,
                  const struct json_text *json, size_t offset, const char *reason)
{
    char quoted[QUOTED_MAX + 1], caret[BEFORE_MAX + 2];
    size_t line = 1, start = 0, used = 0;

    if (offset > json->length)
        offset = json->length;
    for (size_t i = 0; i < offset; i++)
        if (json->text[i] == '\n') {
            line++;
            start = i + 1;
        }
    size_t first = offset - start > BEFORE_MAX ? offset - BEFORE_MAX : start;
    for (size_t i = first; i < json->length && json->text[i] != '\n' && used < QUOTED_MAX; i++)
        quoted[used++] = shown(json->text[i]);
    while (used > 0 && quoted[used - 1] == '?' && json->text[first + used - 1] == '\r')
        used--;
    quoted[used] = '\0';
    for (used = 0; first + used < offset; used++)
        caret[used] = quoted[used] == '\t' ? '\t' : ' ';
    caret[used++] = '^';
    caret[used] = '\0';
    return dbr_error_set(error, code, "%s:%zu:%zu: %s\n%s\n%s", json->path, line,
                         offset - start + 1, reason, quoted, caret);
}
