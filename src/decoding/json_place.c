/* json_place.c - see json_place.h. */
#include "decoding/json_place.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define PATH_SHOWN_MAX 300u  /* bytes of the path; of a longer one, its end */
#define REASON_SHOWN_MAX 256u
#define BEFORE_MAX 60u       /* bytes of the line before the place */
#define QUOTED_MAX 100u      /* bytes of the line in all */
#define ELLIPSIS "..."

static const char byte_order_mark[] = "\xEF\xBB\xBF"; /* cJSON skips it too */

/* Counts the nodes that stand before `node`; depth is bounded by cJSON's nesting limit. */
static bool count_before(const cJSON *list, const cJSON *node, size_t *count)
{
    for (; list && list != node; list = list->next) {
        ++*count;
        if (count_before(list->child, node, count))
            return true;
    }
    return list != NULL;
}

/* The scanner: goes from value to value through JSON that cJSON has accepted. */
struct scan {
    const char *at, *end;
    const char *key; /* of the value found last; NULL where it has none */
};

static struct scan scan_over(const struct json_text *json)
{
    struct scan s = {json->text, json->text + json->length, NULL};
    size_t mark = sizeof byte_order_mark - 1;

    if (json->length >= mark && memcmp(json->text, byte_order_mark, mark) == 0)
        s.at += mark;
    return s;
}

/* As cJSON sees it: everything up to the blank. */
static bool is_space(char c)
{
    return (unsigned char)c <= ' ';
}

static void skip_string(struct scan *s)
{
    for (s->at++; s->at < s->end && *s->at != '"'; s->at++)
        if (*s->at == '\\')
            s->at++;
    s->at = s->at < s->end ? s->at + 1 : s->end;
}

static void skip_word(struct scan *s)
{
    while (s->at < s->end && !is_space(*s->at) && !strchr(",]}", *s->at))
        s->at++;
}

static bool colon_follows(const struct scan *s)
{
    const char *at = s->at;

    while (at < s->end && is_space(*at))
        at++;
    return at < s->end && *at == ':';
}

/* The start of the next value, containers before what they hold; NULL at the end. */
static const char *next_value(struct scan *s)
{
    s->key = NULL;
    while (s->at < s->end) {
        const char *start = s->at;
        if (*start == '"') {
            skip_string(s);
            if (!colon_follows(s))
                return start;
            s->key = start;
        } else if (*start == '{' || *start == '[') {
            s->at++;
            return start;
        } else if (is_space(*start) || strchr(",:]}", *start)) {
            s->at++;
        } else {
            skip_word(s);
            return start;
        }
    }
    return NULL;
}

size_t json_offset(const struct json_text *json, const cJSON *root, const cJSON *node,
                   enum json_part part)
{
    struct scan s = scan_over(json);
    size_t before = 0;

    count_before(root, node, &before);
    const char *found = next_value(&s);
    while (found && before-- > 0)
        found = next_value(&s);
    if (found && part == JSON_KEY && s.key)
        found = s.key;
    return found ? (size_t)(found - json->text) : json->length;
}

static bool continues_character(char c)
{
    return ((unsigned char)c & 0xC0u) == 0x80u; /* RFC 3629: 10xxxxxx */
}

/* Bytes that a UTF-8 character with this first byte has (RFC 3629); 0 where none has. */
static size_t length_by_lead(unsigned char lead)
{
    if (lead < 0x80)
        return 1;
    if (lead < 0xC2 || lead > 0xF4)
        return 0;
    return lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
}

/* Bytes of the whole character at `text`; 0 where there is none. */
static size_t character_length(const char *text)
{
    size_t length = length_by_lead((unsigned char)*text);

    for (size_t i = 1; i < length; i++)
        if (!continues_character(text[i]))
            return 0;
    return length;
}

/* C0 and C1 controls and DEL steer terminals. */
static bool steers(const char *text)
{
    unsigned char lead = (unsigned char)text[0];

    return (lead < ' ' && lead != '\t') || lead == 0x7F ||
           (lead == 0xC2 && (unsigned char)text[1] < 0xA0);
}

static void neutralise(char *text)
{
    while (*text) {
        size_t length = character_length(text);
        if (length == 0 || steers(text)) {
            *text++ = '?';
            continue;
        }
        text += length;
    }
}

struct line {
    size_t number, start, end;
};

static struct line line_around(const struct json_text *json, size_t offset)
{
    struct line line = {1, 0, offset};

    for (size_t i = 0; i < offset; i++)
        if (json->text[i] == '\n') {
            line.number++;
            line.start = i + 1;
        }
    while (line.end < json->length && !strchr("\r\n", json->text[line.end]))
        line.end++;
    return line;
}

static size_t count_characters(const char *text, size_t length)
{
    size_t count = 0;

    for (size_t i = 0; i < length; i++)
        count += !continues_character(text[i]);
    return count;
}

/* The part of the line that is shown: [from, to). */
static struct line window_around(const struct json_text *json, struct line line, size_t offset)
{
    if (offset - line.start > BEFORE_MAX)
        line.start = offset - BEFORE_MAX;
    while (line.start < offset && continues_character(json->text[line.start]))
        line.start++;
    if (line.end - line.start > QUOTED_MAX)
        line.end = line.start + QUOTED_MAX;
    while (line.end > offset && line.end < json->length &&
           continues_character(json->text[line.end]))
        line.end--;
    return line;
}

int json_error_at(struct dbr_error *error, enum dbr_error_code code,
                  const struct json_text *json, size_t offset, const char *reason)
{
    char quoted[QUOTED_MAX + 1], words[REASON_SHOWN_MAX], blanks[BEFORE_MAX + 1];
    size_t width = 0, path_length = strlen(json->path);

    offset = offset < json->length ? offset : json->length;
    struct line line = line_around(json, offset);
    struct line shown = window_around(json, line, offset);
    memcpy(quoted, json->text + shown.start, shown.end - shown.start);
    quoted[shown.end - shown.start] = '\0';
    for (const char *c = quoted; c < quoted + (offset - shown.start); c++)
        if (!continues_character(*c))
            blanks[width++] = *c == '\t' ? '\t' : ' ';
    blanks[width] = '\0';
    snprintf(words, sizeof words, "%s", reason);
    neutralise(words);
    neutralise(quoted);
    bool cut_path = path_length > PATH_SHOWN_MAX;
    bool cut_start = shown.start > line.start, cut_end = shown.end < line.end;
    return dbr_error_set(error, code, "%s%s:%zu:%zu: %s\n%s%s%s\n%s%s^", cut_path ? ELLIPSIS : "",
                         json->path + (cut_path ? path_length - PATH_SHOWN_MAX : 0), line.number,
                         count_characters(json->text + line.start, offset - line.start) + 1, words,
                         cut_start ? ELLIPSIS : "", quoted, cut_end ? ELLIPSIS : "",
                         cut_start ? "   " : "", blanks);
}
