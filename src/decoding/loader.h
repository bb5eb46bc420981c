/* loader.h - from a definitions file to messages: the parts share this. */
#ifndef DRAWBAR_DECODING_LOADER_H
#define DRAWBAR_DECODING_LOADER_H

#include "decoding/json_read.h"
#include "decoding/store.h"

struct loader {
    struct json_reader reader;
    struct dbr_definitions *definitions; /* owner of all memory */
    const char *file;                    /* as messages name it */
    const char *source;                  /* of the whole file */
};

/* Memory and texts; on failure the error is set and NULL returned. */
void *loader_take(struct loader *l, size_t count, size_t size);
const char *loader_text(struct loader *l, const char *text);

/* One element of an array, and its place below that of the array. */
struct loader_element {
    struct json_place array, element;
    struct json_object object;
};

/* Prepares element `index` of the member `key`; the struct must outlive the use of its object. */
void loader_element_init(struct loader_element *e, const struct json_object *parent,
                         const char *key, size_t index, const cJSON *node);

/* load_signals.c */
bool load_signals(struct loader *l, const struct json_object *o, struct dbr_message *message,
                  enum dbr_special special);

/* load_special.c: "special" of a message or a signal. */
bool load_special(struct loader *l, const struct json_object *o, enum dbr_special *special);

/* load_examples.c */
bool load_examples(struct loader *l, const struct json_object *o, struct dbr_message *message);

#endif
