/* texts.c - see texts.h. */
#include "fuzz/texts.h"

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stdint.h>

/* Bytes that follow a first byte (RFC 3629 section 3), -1 where none begins so. */
static int followers(uint8_t first)
{
    if (first < 0x80)
        return 0;
    if (first < 0xC2 || first > 0xF4)
        return -1;
    return first < 0xE0 ? 1 : first < 0xF0 ? 2 : 3;
}

/* The code point at `bytes` and its length; 0 where there is none. */
static size_t code_point(const uint8_t *bytes, size_t left, uint32_t *point)
{
    static const uint32_t least[] = {0, 0x80, 0x800, 0x10000};
    int more = followers(bytes[0]);

    if (more < 0 || (size_t)more >= left)
        return 0;
    *point = more == 0 ? bytes[0] : bytes[0] & (0x3Fu >> more);
    for (int i = 1; i <= more; i++) {
        if ((bytes[i] & 0xC0u) != 0x80)
            return 0;
        *point = *point << 6 | (bytes[i] & 0x3Fu);
    }
    bool surrogate = *point >= 0xD800 && *point <= 0xDFFF;
    return *point < least[more] || *point > 0x10FFFF || surrogate ? 0 : (size_t)more + 1;
}

static bool allowed(enum text_kind kind, uint32_t point)
{
    if (point >= ' ' && (point < 0x7F || point >= 0xA0))
        return true;
    return kind == TEXT_ANY || (kind >= TEXT_LINES && point == '\n') ||
           (kind == TEXT_LAYOUT && point == '\t');
}

const char *text_flaw(const char *text, size_t length, enum text_kind kind)
{
    for (size_t at = 0; at < length;) {
        uint32_t point = 0;
        size_t count = code_point((const uint8_t *)text + at, length - at, &point);
        if (count == 0)
            return "a text is not UTF-8";
        if (!allowed(kind, point))
            return "a text holds a control character";
        at += count;
    }
    return NULL;
}

const char *json_flaw(const char *text, size_t length)
{
    const char *flaw = text_flaw(text, length, TEXT_LAYOUT);
    const char *end = NULL;

    if (flaw)
        return flaw;
    cJSON *value = cJSON_ParseWithLengthOpts(text, length, &end, 0);
    if (!value)
        return "a JSON text does not parse";
    cJSON_Delete(value);
    for (; end < text + length; end++)
        if (*end != ' ' && *end != '\n' && *end != '\r' && *end != '\t')
            return "something follows the value of a JSON text";
    return NULL;
}
