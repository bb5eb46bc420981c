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
    struct block *blocks;          /* all memory of all messages */
};

/* Memory that lives as long as the definitions, zeroed; NULL when there is none. */
void *store_take(struct dbr_definitions *definitions, size_t size);

/* The same for a copy of a text. */
const char *store_text(struct dbr_definitions *definitions, const char *text);

/* Adds a message, or replaces the one of the same PGN and `when`. */
int store_add(struct dbr_definitions *definitions, struct dbr_message *message,
              struct dbr_error *error);

/* One file that is built in (generated from decoders/ by embed.cmake). */
struct builtin_file {
    const char *name;
    const char *text;
    size_t length;
};

extern const struct builtin_file builtin_files[];
extern const size_t builtin_file_count;

#endif
