/*
 * json_place.h - where in a JSON text a value stands, and errors that show it.
 *
 * cJSON keeps no positions. While its tree is walked, the way down is kept as a
 * chain of places; only when something is wrong the text, known to be valid, is
 * scanned once more along that chain.
 */
#ifndef DRAWBAR_DECODING_JSON_PLACE_H
#define DRAWBAR_DECODING_JSON_PLACE_H

#include <stddef.h>

#include "drawbar/error.h"

struct json_place {
    const struct json_place *up; /* NULL for the whole document */
    const char *key;             /* member of an object; NULL: element of an array */
    size_t index;                /* of the element */
};

struct json_text {
    const char *path;
    const char *text;
    size_t length;
};

/* The offset of the value at a place; of the nearest one above it that exists. */
size_t json_place_offset(const struct json_text *json, const struct json_place *place);

/*
 * Sets an error of the form
 *     PATH:LINE:COLUMN: reason
 *     the line
 *         ^
 * and returns -1. Long lines are cut around the place; control characters are
 * shown as '?'.
 */
int json_error_at(struct dbr_error *error, enum dbr_error_code code,
                  const struct json_text *json, size_t offset, const char *reason);

#endif
