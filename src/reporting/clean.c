/* clean.c - see clean.h. */
#include "reporting/clean.h"

#include <stdbool.h>
#include <string.h>

#include "decoding/characters.h"

const char *clean_text(char *out, size_t size, const char *text)
{
    char replacement[CHARACTER_BYTES_MAX];
    size_t replacement_length = character_write(replacement, CHARACTER_REPLACEMENT);
    size_t used = 0;

    while (*text) {
        size_t length = utf8_length(text);
        bool keep = length > 0 &&
                    !character_is_harmful(character_code((const uint8_t *)text, length));
        const char *from = keep ? text : replacement;
        size_t count = keep ? length : replacement_length;
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
