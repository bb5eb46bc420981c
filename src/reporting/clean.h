/*
 * clean.h - texts from a recording made harmless for terminals, pages and JSON.
 *
 * Names in a recording are written by whoever made it. Control characters (C0, C1,
 * DEL), characters that turn the direction of writing, and bytes that are not
 * UTF-8 (RFC 3629) are each shown as U+FFFD; the rest stays as it is.
 */
#ifndef DRAWBAR_REPORTING_CLEAN_H
#define DRAWBAR_REPORTING_CLEAN_H

#include <stddef.h>

#include "decoding/utf8.h"

#define CLEAN_GROWTH UTF8_GROWTH

/* Writes a clean copy of `text` into `out` (`size` bytes, cut at a whole character). Returns out. */
const char *clean_text(char *out, size_t size, const char *text);

#endif
