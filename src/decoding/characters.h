/*
 * characters.h - what may be shown of texts that others wrote, and texts as ECUs send them.
 *
 * SAE J1939-71 and ISO 11783-7 send texts in ISO 8859-1 (from memory); some ECUs send UTF-8
 * all the same (common practice, no source). A text that is well-formed UTF-8 is read as
 * that: accented letters of ISO 8859-1 hardly ever happen to form it.
 */
#ifndef DRAWBAR_DECODING_CHARACTERS_H
#define DRAWBAR_DECODING_CHARACTERS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CHARACTER_REPLACEMENT 0xFFFDu /* shown for what may not be shown */
#define CHARACTER_BYTES_MAX 4u

/* The code point of a well-formed character (utf8.h) of `length` bytes. */
uint32_t character_code(const uint8_t *bytes, size_t length);

/* Whether a character could steer a terminal, hide, or turn the direction of writing. */
bool character_is_harmful(uint32_t code);

/* Writes a code point below U+10000 as UTF-8; returns the count of bytes. */
size_t character_write(char out[CHARACTER_BYTES_MAX], uint32_t code);

/*
 * A text as an ECU sends it, as harmless UTF-8 with a NUL: padding (00, FF, blanks) at either
 * end is left out, what is harmful becomes U+FFFD. Cut at a whole character where `out` (at
 * least 1 byte) has no room for all; returns false then.
 */
bool characters_take(char *out, size_t size, const uint8_t *bytes, size_t count);

#endif
