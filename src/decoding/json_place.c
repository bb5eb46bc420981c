/* json_place.c - see json_place.h. */
#include "decoding/json_place.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "text/clean.h"

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

/* Bytes of the mark at the start, which no editor shows. */
static size_t mark_length(const struct json_text *json)
{
    size_t mark = sizeof byte_order_mark - 1;

    return json->length >= mark && memcmp(json->text, byte_order_mark, mark) == 0 ? mark : 0;
}

static struct scan scan_over(const struct json_text *json)
{
    return (struct scan){json->text + mark_length(json), json->text + json->length, NULL};
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

struct line {
    size_t number, start, end;
};

static struct line line_around(const struct json_text *json, size_t offset)
{
    struct line line = {1, mark_length(json) <= offset ? mark_length(json) : 0, offset};

    for (size_t i = 0; i < offset; i++)
        if (json->text[i] == '\n') {
            line.number++;
            line.start = i + 1;
        }
    while (line.end < json->length && !strchr("\r\n", json->text[line.end]))
        line.end++;
    return line;
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

/* Blanks for tabs: a tab under a tab leads nowhere when what stands before it is cut. */
static const char *quote(char *out, size_t size, const char *text, size_t length)
{
    char piece[QUOTED_MAX + 1];

    for (size_t i = 0; i < length; i++)
        piece[i] = (char)(text[i] == '\t' ? ' ' : text[i]);
    piece[length] = '\0';
    return clean_text(out, size, piece);
}

int json_error_at(struct dbr_error *error, enum dbr_error_code code,
                  const struct json_text *json, size_t offset, const char *reason)
{
    char before[QUOTED_MAX * CLEAN_GROWTH + 1], behind[sizeof before], words[REASON_SHOWN_MAX];
    char quoted[2 * sizeof before + 2 * sizeof ELLIPSIS];
    size_t path_length = strlen(json->path);
    bool cut_path = path_length > PATH_SHOWN_MAX;

    offset = offset < json->length ? offset : json->length;
    struct line line = line_around(json, offset);
    struct line shown = window_around(json, line, offset);
    quote(before, sizeof before, json->text + shown.start, offset - shown.start);
    quote(behind, sizeof behind, json->text + offset, shown.end - offset);
    int lead = snprintf(quoted, sizeof quoted, "%s%s", shown.start > line.start ? ELLIPSIS : "",
                        before);
    size_t column = utf8_count(quoted, (size_t)lead);
    snprintf(quoted + lead, sizeof quoted - (size_t)lead, "%s%s", behind,
             shown.end < line.end ? ELLIPSIS : "");
    dbr_error_set(error, code, "%s%s:%zu:%zu: %s", cut_path ? ELLIPSIS : "",
                  json->path + (cut_path ? path_length - PATH_SHOWN_MAX : 0), line.number,
                  utf8_count(json->text + line.start, offset - line.start) + 1,
                  clean_text(words, sizeof words, reason));
    return dbr_error_quote(error, quoted, column);
}
