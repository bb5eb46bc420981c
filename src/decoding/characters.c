/* characters.c - see characters.h. */
#include "decoding/characters.h"

#include <string.h>

#include "decoding/utf8.h"

uint32_t character_code(const uint8_t *bytes, size_t length)
{
    static const uint8_t lead_masks[] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    uint32_t code = bytes[0] & lead_masks[length];

    for (size_t i = 1; i < length; i++)
        code = code << 6 | (bytes[i] & 0x3Fu);
    return code;
}

/* Controls (C0, DEL, C1), line and paragraph separators, marks that embed, override or isolate
 * a direction of writing (Unicode Standard Annex 9), zero width characters, byte order mark. */
bool character_is_harmful(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code <= 0x9F) || code == 0x061C ||
           (code >= 0x200B && code <= 0x200F) || (code >= 0x2028 && code <= 0x202E) ||
           (code >= 0x2060 && code <= 0x206F) || code == 0xFEFF;
}

size_t character_write(char out[CHARACTER_BYTES_MAX], uint32_t code)
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

static bool is_padding(uint8_t byte)
{
    return byte == 0x00 || byte == 0xFF || byte == ' ';
}

static bool is_utf8(const uint8_t *bytes, size_t count)
{
    for (size_t at = 0, length; at < count; at += length) {
        length = utf8_length_within(bytes + at, count - at);
        if (length == 0)
            return false;
    }
    return true;
}

/* One character of either form: what to write for it; returns the bytes that it took. */
static size_t take_one(const uint8_t *bytes, size_t count, bool utf8,
                       char out[CHARACTER_BYTES_MAX], size_t *written)
{
    size_t length = utf8 ? utf8_length_within(bytes, count) : 1;
    uint32_t code = utf8 ? character_code(bytes, length) : bytes[0];

    if (character_is_harmful(code)) {
        *written = character_write(out, CHARACTER_REPLACEMENT);
    } else if (utf8) {
        memcpy(out, bytes, length);
        *written = length;
    } else {
        *written = character_write(out, code); /* ISO 8859-1 is the first 256 of Unicode */
    }
    return length;
}

bool characters_take(char *out, size_t size, const uint8_t *bytes, size_t count)
{
    char one[CHARACTER_BYTES_MAX];
    size_t used = 0, written;

    while (count > 0 && is_padding(bytes[count - 1]))
        count--;
    for (; count > 0 && is_padding(bytes[0]); count--)
        bytes++;
    bool utf8 = is_utf8(bytes, count);
    while (count > 0) {
        size_t taken = take_one(bytes, count, utf8, one, &written);
        if (used + written >= size)
            break;
        memcpy(out + used, one, written);
        used += written;
        bytes += taken;
        count -= taken;
    }
    out[used] = '\0';
    return count == 0;
}
