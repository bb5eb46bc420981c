/* utf8.c - see utf8.h. */
#include "text/utf8.h"

#include <string.h>

static const char replacement[] = "\xEF\xBF\xBD"; /* U+FFFD */

/* RFC 3629 section 4: lead byte, and the range of the byte after it. */
static const struct form {
    uint8_t lead_low, lead_high, second_low, second_high, length;
} forms[] = {
    {0x00, 0x7F, 0, 0, 1},          {0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3},
    {0xE1, 0xEC, 0x80, 0xBF, 3},    {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
    {0xF0, 0xF0, 0x90, 0xBF, 4},    {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4},
};

/* The form of a character by its first byte; NULL: it is no first byte. */
static const struct form *form_of(uint8_t lead)
{
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++)
        if (lead >= forms[i].lead_low && lead <= forms[i].lead_high)
            return &forms[i];
    return NULL;
}

/* Whether the bytes behind the first, as far as `count` goes, continue the character. */
static bool go_on(const struct form *form, const uint8_t *bytes, size_t count)
{
    if (count > 1 && (bytes[1] < form->second_low || bytes[1] > form->second_high))
        return false;
    for (size_t k = 2; k < count; k++)
        if (bytes[k] < 0x80 || bytes[k] > 0xBF)
            return false;
    return true;
}

size_t utf8_length_within(const uint8_t *bytes, size_t left)
{
    const struct form *form = left > 0 ? form_of(bytes[0]) : NULL;

    return form && form->length <= left && go_on(form, bytes, form->length) ? form->length : 0;
}

bool utf8_is_cut(const uint8_t *bytes, size_t left)
{
    const struct form *form = left > 0 ? form_of(bytes[0]) : NULL;

    return form && form->length > left && go_on(form, bytes, left);
}

size_t utf8_length(const char *text)
{
    /* The NUL at the end continues no character. */
    return utf8_length_within((const uint8_t *)text, 4);
}

uint32_t utf8_code(const uint8_t *bytes, size_t length)
{
    static const uint8_t lead_masks[] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    uint32_t code = bytes[0] & lead_masks[length];

    for (size_t i = 1; i < length; i++)
        code = code << 6 | (bytes[i] & 0x3Fu);
    return code;
}

size_t utf8_write(char out[UTF8_BYTES_MAX], uint32_t code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    out[0] = (char)(0xE0 | code >> 12);
    out[1] = (char)(0x80 | (code >> 6 & 0x3F));
    out[2] = (char)(0x80 | (code & 0x3F));
    return 3;
}

size_t utf8_count(const char *text, size_t length)
{
    size_t count = 0;

    for (size_t i = 0; i < length; i++)
        count += ((unsigned char)text[i] & 0xC0u) != 0x80u; /* RFC 3629: 10xxxxxx goes on */
    return count;
}

size_t utf8_repair(char *out, const uint8_t *bytes, size_t length, size_t *bad)
{
    size_t used = 0;

    while (length > 0 && bytes[length - 1] == 0)
        length--;
    for (size_t i = 0; i < length;) {
        size_t count = bytes[i] == 0 ? 0 : utf8_length_within(bytes + i, length - i);
        const void *from = count > 0 ? (const void *)(bytes + i) : replacement;
        size_t put = count > 0 ? count : sizeof replacement - 1;
        if (out)
            memcpy(out + used, from, put);
        if (bad)
            *bad += count == 0;
        used += put;
        i += count > 0 ? count : 1;
    }
    return used;
}
