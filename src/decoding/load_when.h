/* load_when.h - conditions on a sender: its address, fields of its NAME. */
#ifndef DRAWBAR_DECODING_LOAD_WHEN_H
#define DRAWBAR_DECODING_LOAD_WHEN_H

#include "decoding/json_read.h"
#include "drawbar/definitions.h"

/* The keys of conditions, in the order in which when_read reads them; ends with NULL. */
extern const char *const when_keys[];

/* Reads the conditions among the members of `o`; those that are absent do not matter. */
bool when_read(struct json_reader *r, const cJSON *o, struct dbr_when *when);

/* The same for an object that holds nothing else; NULL: no conditions. */
bool load_when(struct json_reader *r, const cJSON *o, struct dbr_when *when);

#endif
