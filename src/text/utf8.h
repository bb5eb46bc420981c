/*
 * utf8.h - which bytes are characters (RFC 3629), and texts made of them alone.
 */
#ifndef DRAWBAR_TEXT_UTF8_H
#define DRAWBAR_TEXT_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define UTF8_BYTES_MAX 4u
#define UTF8_REPLACEMENT 0xFFFDu /* shown for what is no character, or may not be shown */
#define UTF8_GROWTH 3u           /* a byte becomes at most these: U+FFFD in UTF-8 */

/* Bytes of the well-formed character at `bytes`, of which `left` are there; 0: there is none. */
size_t utf8_length_within(const uint8_t *bytes, size_t left);

/* Bytes of the well-formed character at `text`, which ends with a NUL; 0 where there is none. */
size_t utf8_length(const char *text);

/* Whether the `left` bytes at `bytes` are the start of a character that goes on behind them. */
bool utf8_is_cut(const uint8_t *bytes, size_t left);

/* The code point of a well-formed character of `length` bytes. */
uint32_t utf8_code(const uint8_t *bytes, size_t length);

/* Writes a code point below U+10000; returns the count of bytes. */
size_t utf8_write(char out[UTF8_BYTES_MAX], uint32_t code);

/* Characters of well-formed text: `length` bytes of it, one column each as far as a terminal agrees. */
size_t utf8_count(const char *text, size_t length);

/*
 * Bytes from a message as a text: what is no character becomes U+FFFD, and so does a
 * NUL within; NULs at the end are padding. Writes to `out`, without a NUL, unless it is
 * NULL. Returns how many bytes that takes; adds to `bad`, unless NULL, what was replaced.
 */
size_t utf8_repair(char *out, const uint8_t *bytes, size_t length, size_t *bad);

#endif
