/* clean.c - see clean.h. */
#include "reporting/clean.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

static const char replacement[] = "\xEF\xBF\xBD"; /* U+FFFD */

static uint32_t code_point(const char *text, size_t length)
{
    static const uint8_t lead_masks[] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    uint32_t code = (uint8_t)text[0] & lead_masks[length];

    for (size_t i = 1; i < length; i++)
        code = code << 6 | ((uint8_t)text[i] & 0x3Fu);
    return code;
}

/* Controls (C0, DEL, C1), line and paragraph separators, marks that embed, override or isolate
 * a direction of writing (Unicode Standard Annex 9), zero width characters, byte order mark. */
static bool is_harmful(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code <= 0x9F) || code == 0x061C ||
           (code >= 0x200B && code <= 0x200F) || (code >= 0x2028 && code <= 0x202E) ||
           (code >= 0x2060 && code <= 0x206F) || code == 0xFEFF;
}

const char *clean_text(char *out, size_t size, const char *text)
{
    size_t used = 0;

    while (*text) {
        size_t length = utf8_length(text);
        bool keep = length > 0 && !is_harmful(code_point(text, length));
        const char *from = keep ? text : replacement;
        size_t count = keep ? length : sizeof replacement - 1;
        if (used + count >= size)
            break;
        memcpy(out + used, from, count);
        used += count;
        text += length > 0 ? length : 1;
    }
    if (size > 0)
        out[used] = '\0';
    return out;
}
