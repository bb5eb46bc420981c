/*
 * json_read.h - checked reading of JSON objects against a schema, with located errors.
 *
 * Every function returns false after it set the loader's error; callers chain
 * them with && and stop at the first. cJSON 1.7: lookups must be the
 * case-sensitive ones, and duplicate keys are not noticed: both are seen to here.
 */
#ifndef DRAWBAR_DECODING_JSON_READ_H
#define DRAWBAR_DECODING_JSON_READ_H

#include <stdbool.h>

#include <cjson/cJSON.h>

#include "decoding/json_place.h"

struct json_reader {
    struct json_text json;
    struct dbr_error *error;
};

/* An object that is being read, and where it stands. */
struct json_object {
    const cJSON *node;
    const struct json_place *place;
};

enum json_need { JSON_OPTIONAL, JSON_REQUIRED };

/* The document; NULL after a syntax error. Freed with cJSON_Delete. */
cJSON *json_parse(struct json_reader *r);

/* Sets an error at a place and returns false. */
bool json_fail(struct json_reader *r, const struct json_place *place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The same at the member `key` of an object. */
bool json_fail_member(struct json_reader *r, const struct json_object *o, const char *key,
                      const char *format, ...) __attribute__((format(printf, 4, 5)));

/* `node` is an object whose keys are all among `keys` (ends with NULL), each at most once. */
bool json_check_object(struct json_reader *r, const struct json_object *o,
                       const char *const *keys);

/* Members by type. An optional one that is absent leaves `*out` as it is. */
bool json_string(struct json_reader *r, const struct json_object *o, const char *key,
                 enum json_need need, const char **out);
bool json_number(struct json_reader *r, const struct json_object *o, const char *key,
                 enum json_need need, double *out);
bool json_integer(struct json_reader *r, const struct json_object *o, const char *key,
                  enum json_need need, long low, long high, long *out);
bool json_flag(struct json_reader *r, const struct json_object *o, const char *key, bool *out);
bool json_array(struct json_reader *r, const struct json_object *o, const char *key,
                enum json_need need, const cJSON **out);

#endif
