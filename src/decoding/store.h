/*
 * store.h - the definitions in memory: what the loader fills and the decoder searches.
 */
#ifndef DRAWBAR_DECODING_STORE_H
#define DRAWBAR_DECODING_STORE_H

#include "drawbar/definitions.h"

struct block;

struct dbr_definitions {
    size_t count, capacity;
    struct dbr_message **messages; /* sorted by PGN, then in the order of loading */
    struct block *blocks;          /* all memory of all messages, the latest first */
};

/* Memory that lives as long as the definitions, zeroed; NULL when there is none. */
void *store_take(struct dbr_definitions *definitions, size_t size);

/* Gives back all memory that was taken since `blocks` was `mark`. */
void store_give_back(struct dbr_definitions *definitions, const struct block *mark);

/* Adds all messages, or none. One of the same PGN and `when` replaces an earlier one. */
int store_add(struct dbr_definitions *definitions, struct dbr_message **messages, size_t count,
              struct dbr_error *error);

/* The two hold under the same conditions. */
bool store_same_when(const struct dbr_message *a, const struct dbr_message *b);

/* The one that `message` would replace: of the same PGN and `when`; or NULL. */
const struct dbr_message *store_find(const struct dbr_definitions *definitions,
                                     const struct dbr_message *message);

/* One file that is built in (generated from decoders/ by embed.cmake). */
struct builtin_file {
    const char *name;
    const char *text;
    size_t length;
};

extern const struct builtin_file builtin_files[];
extern const size_t builtin_file_count;

#endif
