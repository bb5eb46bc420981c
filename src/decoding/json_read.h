/*
 * json_read.h - checked reading of JSON objects against a schema, with located errors.
 *
 * Every function returns false after it told of a mistake. The reader's error keeps
 * the first one; `mistake`, where somebody set it, hears of each up to a ceiling. So callers may
 * stop at the first, chaining with &&, or go on and look at `mistakes` at the end.
 * cJSON 1.7: lookups must be the case-sensitive ones, and duplicate keys are not
 * noticed: both are seen to here.
 */
#ifndef DRAWBAR_DECODING_JSON_READ_H
#define DRAWBAR_DECODING_JSON_READ_H

#include <stdbool.h>
#include <stddef.h>

#include "decoding/json_place.h"

struct json_reader {
    struct json_text json;
    struct dbr_error *error;
    cJSON *root; /* owned; set by json_open */
    bool out_of_memory; /* to parse it; no mistake of the text */
    size_t mistakes; /* so far */
    void (*mistake)(void *context, const struct dbr_error *error); /* NULL: nobody */
    void *context;
};

enum json_need { JSON_OPTIONAL, JSON_REQUIRED };

/* Parses the text; false where it is no JSON, or where something follows it. */
bool json_open(struct json_reader *r);
void json_close(struct json_reader *r);

/* Sets an error at the value of a node, or at its key, and returns false. */
bool json_fail(struct json_reader *r, const cJSON *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
bool json_fail_key(struct json_reader *r, const cJSON *member, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* `node` is an object whose keys are all among `keys` (ends with NULL), each at most once. */
bool json_check_object(struct json_reader *r, const cJSON *node, const char *const *keys);

/* `node` is an object of one to `most` members with keys of its own choice, each once. */
bool json_check_map(struct json_reader *r, const cJSON *node, size_t most);

/* The member `key`, in `*out`; NULL where it is absent and may be. */
bool json_member(struct json_reader *r, const cJSON *object, const char *key,
                 enum json_need need, const cJSON **out);

/* Members by type. An optional one that is absent leaves `*out` as it is. */
bool json_string(struct json_reader *r, const cJSON *object, const char *key,
                 enum json_need need, const char **out);
bool json_number(struct json_reader *r, const cJSON *object, const char *key, double *out);
bool json_integer(struct json_reader *r, const cJSON *object, const char *key,
                  enum json_need need, long low, long high, long *out);
bool json_flag(struct json_reader *r, const cJSON *object, const char *key, bool *out);
bool json_array(struct json_reader *r, const cJSON *object, const char *key,
                enum json_need need, const cJSON **out);

/* An optional text that must be one of `names` (ends with NULL): its index. */
bool json_choice(struct json_reader *r, const cJSON *object, const char *key,
                 const char *const *names, size_t *out);

#endif
