/* json_sound.c - see json_sound.h. RFC 8259, as far as the parser asks for it. */
#include "decoding/json_sound.h"

#include <cjson/cJSON.h>
#include <ctype.h>
#include <stdbool.h>
#include <string.h>

#define DEPTH_MAX ((unsigned)CJSON_NESTING_LIMIT)
#define NUMBER_MAX 63 /* some versions of the parser stumble over what a number has beyond */
#define MARKED_MIN 5u /* bytes of a text whose byte order mark the parser skips */

struct place {
    const char *at, *end;
    bool too_deep;
};

static void skip_blanks(struct place *p)
{
    while (p->at < p->end && (unsigned char)*p->at <= ' ')
        p->at++;
}

/* Takes `c` where it comes next. */
static bool take(struct place *p, char c)
{
    skip_blanks(p);
    if (p->at == p->end || *p->at != c)
        return false;
    p->at++;
    return true;
}

static bool take_word(struct place *p, const char *word)
{
    size_t length = strlen(word);

    if ((size_t)(p->end - p->at) < length || memcmp(p->at, word, length) != 0)
        return false;
    p->at += length;
    return true;
}

/* Four hexadecimal digits; -1 where there are none. */
static int take_unit(struct place *p)
{
    int unit = 0;

    for (int i = 0; i < 4; i++, p->at++) {
        if (p->at == p->end || !isxdigit((unsigned char)*p->at))
            return -1;
        char digit = (char)tolower((unsigned char)*p->at);
        unit = unit * 16 + (digit <= '9' ? digit - '0' : digit - 'a' + 10);
    }
    return unit;
}

/* After "\u": a character beyond 16 bits comes as a pair (RFC 8259, 7). */
static bool take_escaped_unit(struct place *p)
{
    int unit = take_unit(p);

    if (unit < 0 || (unit >= 0xDC00 && unit <= 0xDFFF))
        return false;
    if (unit < 0xD800 || unit > 0xDBFF)
        return true;
    int low = take_word(p, "\\u") ? take_unit(p) : -1;
    return low >= 0xDC00 && low <= 0xDFFF;
}

static bool take_string(struct place *p)
{
    if (!take(p, '"'))
        return false;
    while (p->at < p->end && *p->at != '"') {
        if (*p->at++ != '\\')
            continue;
        if (p->at == p->end || !strchr("bfnrt\"\\/u", *p->at) || *p->at == '\0')
            return false;
        if (*p->at++ == 'u' && !take_escaped_unit(p))
            return false;
    }
    return take(p, '"');
}

static size_t take_digits(struct place *p)
{
    size_t count = 0;

    for (; p->at < p->end && isdigit((unsigned char)*p->at); p->at++)
        count++;
    return count;
}

/* Behind "e" or "E". */
static bool take_exponent(struct place *p)
{
    if (!take_word(p, "+"))
        take_word(p, "-");
    return take_digits(p) > 0;
}

static bool take_number(struct place *p)
{
    const char *start = p->at;

    if (!take_word(p, "-") && (p->at == p->end || !isdigit((unsigned char)*p->at)))
        return false;
    size_t digits = take_digits(p);
    if (take_word(p, "."))
        digits += take_digits(p);
    if (digits == 0)
        return false;
    if ((take_word(p, "e") || take_word(p, "E")) && !take_exponent(p))
        return false;
    return p->at - start <= NUMBER_MAX;
}

static bool take_value(struct place *p, unsigned depth);

/* What stands between the brackets: members with a key, or items without. */
static bool take_items(struct place *p, char close, bool keys, unsigned depth)
{
    if (depth > DEPTH_MAX) {
        p->too_deep = true;
        return false;
    }
    if (take(p, close))
        return true;
    do {
        if (keys && (!take_string(p) || !take(p, ':')))
            return false;
        if (!take_value(p, depth))
            return false;
    } while (take(p, ','));
    return take(p, close);
}

static bool take_value(struct place *p, unsigned depth)
{
    skip_blanks(p);
    if (p->at < p->end && *p->at == '"')
        return take_string(p);
    if (take(p, '{'))
        return take_items(p, '}', true, depth + 1);
    if (take(p, '['))
        return take_items(p, ']', false, depth + 1);
    return take_word(p, "true") || take_word(p, "false") || take_word(p, "null") || take_number(p);
}

enum json_soundness json_soundness(const char *text, size_t length)
{
    struct place p = {text, text + length, false};

    if (length >= MARKED_MIN)
        take_word(&p, "\xEF\xBB\xBF");
    bool sound = take_value(&p, 0);
    return sound ? JSON_SOUND : p.too_deep ? JSON_TOO_DEEP : JSON_UNSOUND;
}
