/*
 * json_place.h - where in a JSON text a node stands, and errors that show it.
 *
 * cJSON keeps no positions. But its tree holds every value of the text, in the
 * order of the text: the n-th node of the tree is the n-th value of the text. So
 * only when something is wrong both are counted through, side by side. That is
 * exact for duplicate keys and for keys written with escapes, and asks nothing of
 * the code that walks the tree.
 */
#ifndef DRAWBAR_DECODING_JSON_PLACE_H
#define DRAWBAR_DECODING_JSON_PLACE_H

#include <stddef.h>

#include <cjson/cJSON.h>

#include "drawbar/error.h"

struct json_text {
    const char *path;
    const char *text;
    size_t length;
};

enum json_part { JSON_VALUE, JSON_KEY };

/* The offset of a node's value, or of the key before it. `root` was parsed from the text. */
size_t json_offset(const struct json_text *json, const cJSON *root, const cJSON *node,
                   enum json_part part);

/*
 * Sets an error of the form
 *     PATH:LINE:COLUMN: reason
 *     the line
 *         ^
 * and returns -1. Columns count characters from 1. A long line is cut around the
 * place ("..."); what could steer a terminal is shown as U+FFFD.
 */
int json_error_at(struct dbr_error *error, enum dbr_error_code code,
                  const struct json_text *json, size_t offset, const char *reason);

#endif
