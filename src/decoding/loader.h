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

/* Memory (zeroed, at least one item) and texts; on failure the error is set and NULL returned. */
void *loader_take(struct loader *l, size_t count, size_t size);
const char *loader_text(struct loader *l, const char *text);

/* Bytes that a message can have at most. */
unsigned loader_room(enum dbr_packing packing);

/* "special" and "confidence", which messages and signals share. */
bool load_special(struct loader *l, const cJSON *object, enum dbr_special *special);
bool load_confidence(struct loader *l, const cJSON *object, bool *from_memory);

/* The parts of a message; each reads what the ones before it have set. */
bool load_signals(struct loader *l, const cJSON *object, struct dbr_message *message,
                  enum dbr_special special);
bool load_states(struct loader *l, const cJSON *object, struct dbr_signal *signal);
bool load_role_and_unit(struct loader *l, const cJSON *object, struct dbr_signal *signal);
bool load_examples(struct loader *l, const cJSON *object, struct dbr_message *message);

#endif
