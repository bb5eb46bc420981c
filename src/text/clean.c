/* clean.c - see clean.h. */
#include "text/clean.h"

#include <string.h>

/* Controls; then what the Unicode Character Database (DerivedCoreProperties, 15.0) lists as
 * Default_Ignorable_Code_Point, that is what is not seen or changes how its neighbours are seen:
 * zero width, directions of writing (UAX 9), byte order mark, tags; then separators and marks of
 * lines that text must not have. In rising order. */
static const struct {
    uint32_t first, last;
} harmful[] = {
    {0x0000, 0x001F},   /* C0 */
    {0x007F, 0x009F},   /* DEL, C1 */
    {0x00AD, 0x00AD},   /* soft hyphen */
    {0x034F, 0x034F},   /* combining grapheme joiner */
    {0x061C, 0x061C},   /* Arabic letter mark */
    {0x115F, 0x1160},   /* Hangul fillers */
    {0x17B4, 0x17B5},   /* Khmer inherent vowels */
    {0x180B, 0x180F},   /* Mongolian selectors and vowel separator */
    {0x200B, 0x200F},   /* zero width, direction marks */
    {0x2028, 0x202E},   /* line and paragraph separator; embeddings and overrides */
    {0x2060, 0x206F},   /* word joiner, isolates */
    {0x3164, 0x3164},   /* Hangul filler */
    {0xFE00, 0xFE0F},   /* variation selectors */
    {0xFEFF, 0xFEFF},   /* byte order mark */
    {0xFFA0, 0xFFA0},   /* Hangul filler of half width */
    {0xFFF0, 0xFFFB},   /* reserved; interlinear annotation */
    {0xFFFE, 0xFFFF},   /* no characters */
    {0x1BCA0, 0x1BCA3}, /* shorthand format controls */
    {0x1D173, 0x1D17A}, /* musical format controls */
    {0xE0000, 0xE0FFF}, /* tags, more variation selectors */
};

bool clean_is_harmful(uint32_t code)
{
    if (code >= 0x20 && code < 0x7F)
        return false;
    for (size_t i = 0; i < sizeof harmful / sizeof harmful[0]; i++)
        if (code <= harmful[i].last)
            return code >= harmful[i].first;
    return false;
}

/* What to write for the character or the stray byte at `bytes`; returns how many it took. */
static size_t take_one(const uint8_t *bytes, size_t left, char out[UTF8_BYTES_MAX],
                       size_t *written)
{
    size_t length = utf8_length_within(bytes, left);

    if (length == 0 || clean_is_harmful(utf8_code(bytes, length))) {
        *written = utf8_write(out, UTF8_REPLACEMENT);
        return length > 0 ? length : 1;
    }
    memcpy(out, bytes, length);
    return *written = length;
}

/* The same of ISO 8859-1, which is the first 256 characters of Unicode. */
static size_t take_latin(const uint8_t *bytes, size_t left, char out[UTF8_BYTES_MAX],
                         size_t *written)
{
    (void)left;
    *written = utf8_write(out, clean_is_harmful(bytes[0]) ? UTF8_REPLACEMENT : bytes[0]);
    return 1;
}

typedef size_t take_character(const uint8_t *bytes, size_t left, char out[UTF8_BYTES_MAX],
                              size_t *written);

/* False where not all found room. */
static bool take_all(char *out, size_t size, const uint8_t *bytes, size_t count,
                     take_character *take)
{
    char one[UTF8_BYTES_MAX];
    size_t used = 0, written;

    while (count > 0) {
        size_t taken = take(bytes, count, one, &written);
        if (used + written >= size)
            break;
        memcpy(out + used, one, written);
        used += written;
        bytes += taken;
        count -= taken;
    }
    if (size > 0)
        out[used] = '\0';
    return count == 0;
}

const char *clean_text(char *out, size_t size, const char *text)
{
    take_all(out, size, (const uint8_t *)text, strlen(text), take_one);
    return out;
}

static bool is_padding(uint8_t byte)
{
    return byte == 0x00 || byte == 0xFF || byte == ' ';
}

/* A last character that was cut counts where others before it are of several bytes: alone it may
 * be a letter of ISO 8859-1. */
static bool is_utf8(const uint8_t *bytes, size_t count)
{
    bool several = false;

    for (size_t at = 0, length; at < count; at += length) {
        length = utf8_length_within(bytes + at, count - at);
        several = several || length > 1;
        if (length == 0)
            return several && utf8_is_cut(bytes + at, count - at);
    }
    return true;
}

bool clean_told(char *out, size_t size, const uint8_t *bytes, size_t count)
{
    while (count > 0 && is_padding(bytes[count - 1]))
        count--;
    for (; count > 0 && is_padding(bytes[0]); count--)
        bytes++;
    return take_all(out, size, bytes, count, is_utf8(bytes, count) ? take_one : take_latin);
}
