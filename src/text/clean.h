/*
 * clean.h - texts that strangers wrote, made harmless for terminals, pages, tables and JSON.
 *
 * Names in a recording are written by whoever made it, names of files and texts of
 * definitions by whoever sent them. Each byte that is not UTF-8 (RFC 3629) and each
 * character that could steer a terminal, hide, or turn the direction of writing is shown
 * as U+FFFD; the rest stays as it is. Markup, quotes and formulas are left to whom they
 * concern: html_text.h, print_forms.c.
 */
#ifndef DRAWBAR_TEXT_CLEAN_H
#define DRAWBAR_TEXT_CLEAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "text/utf8.h"

#define CLEAN_GROWTH UTF8_GROWTH

/* Whether a character could steer a terminal, hide, or turn the direction of writing. */
bool clean_is_harmful(uint32_t code);

/* Writes a clean copy of `text` into `out` (`size` bytes, cut at a whole character). Returns out. */
const char *clean_text(char *out, size_t size, const char *text);

/*
 * A text as an ECU sends it: padding (00, FF, blanks) at either end is left out. SAE J1939-71
 * and ISO 11783-7 send ISO 8859-1 (from memory); some ECUs send UTF-8 all the same (common
 * practice, no source). A text that is well-formed UTF-8 is read as that, also where the room of
 * its field has cut its last character: accented letters of ISO 8859-1 hardly ever happen to
 * form it. Cut at a whole character where `out` (at least
 * 1 byte) has no room for all; returns false then.
 */
bool clean_told(char *out, size_t size, const uint8_t *bytes, size_t count);

#endif
