/*
 * loader.h - from a definitions file to messages: the parts share this.
 *
 * A mistake does not stop the loading of the rest, so that an author hears of all
 * of them at once; what follows from a mistake is not told again. Nothing is added
 * to the definitions where there was one.
 */
#ifndef DRAWBAR_DECODING_LOADER_H
#define DRAWBAR_DECODING_LOADER_H

#include "decoding/json_read.h"
#include "decoding/store.h"

/* Texts that signals of one file share. */
struct state_list {
    const char *name; /* lives as long as the JSON */
    size_t count;
    const struct dbr_state_text *states;
    uint64_t highest; /* raw value */
};

struct loader {
    struct json_reader reader;
    struct dbr_definitions *definitions; /* owner of all memory */
    const char *file;                    /* as messages name it */
    const char *source;                  /* of the whole file */
    bool strict;      /* proves as well: examples, ranges, one definition for each group */
    bool exhausted;   /* there was no memory; the reader's error says so */
    size_t list_count;
    struct state_list *lists;
    size_t messages, signals, examples; /* read so far; a range counts its messages */

    /* Of the message that is being loaded: */
    unsigned room;                /* bytes that it can have; 0: not known */
    bool broken[DBR_SIGNALS_MAX]; /* signals that had a mistake: nothing is concluded from them */
};

/* Memory (zeroed, at least one item) and texts; NULL where there is none, which is a mistake too. */
void *loader_take(struct loader *l, size_t count, size_t size);
const char *loader_text(struct loader *l, const char *text);

/* Whether nothing has gone wrong since `mistakes` was read from the reader. */
bool loader_unharmed(const struct loader *l, size_t mistakes);

/* Bytes that a message can have at most. */
unsigned loader_room(enum dbr_packing packing);

/* Loads a whole document. False where there was a mistake; then nothing was added. */
bool loader_run(struct loader *l, const char *path, const char *text, size_t length);

/* "special" and "confidence", which messages and signals share. */
bool load_special(struct loader *l, const cJSON *object, enum dbr_special *special);
bool load_confidence(struct loader *l, const cJSON *object, bool *from_memory);

/* "states" of the document: the lists that signals can name. */
void load_state_lists(struct loader *l, const cJSON *document);

/* The parts of a message; each reads what the ones before it have set. */
void load_signals(struct loader *l, const cJSON *object, struct dbr_message *message,
                  enum dbr_special special);
void load_states(struct loader *l, const cJSON *object, struct dbr_signal *signal);
void load_role_and_unit(struct loader *l, const cJSON *object, struct dbr_signal *signal);
void load_examples(struct loader *l, const cJSON *object, struct dbr_message *message);

/* An expectation against the data of its example: NULL where it holds, else words on both. */
const char *prove_expectation(const struct dbr_message *message, const struct dbr_example *example,
                              const struct dbr_expectation *expect, char *words, size_t size);

#endif
