/*
 * device_own.h - what the parts of the device description share.
 *
 * device.c        bytes to objects
 * device_check.c  whether the objects fit together
 * device_use.c    looking up, values, words
 */
#ifndef DRAWBAR_DECODING_DEVICE_OWN_H
#define DRAWBAR_DECODING_DEVICE_OWN_H

#include "drawbar/device.h"

struct id_index {
    uint16_t id, index;
};

/* What a device's pointers point to. Everything may be changed until the parsing ends. */
struct dbr_device_own {
    struct dbr_device_object *objects;
    struct id_index *by_id; /* in order of ids; as many as objects */
    char *texts;
    size_t texts_used;
    uint16_t *references;
    size_t references_used;
    char **renamed;         /* texts that replaced others; NULL, or as many as objects */
};

/* Adds to the device's problems, or counts. */
void device_problem(struct dbr_device *d, const struct dbr_pool_problem *problem);

/* About an object, with the id that it names (DBR_OBJECT_NONE: none). */
void device_problem_of(struct dbr_device *d, enum dbr_pool_problem_kind kind,
                       const struct dbr_device_object *object, uint16_t other);

/* device_check.c: parents, references, presentations, numbers. `rest_unknown`: what is not there may
 * be in what was not read. False: out of memory. */
bool device_check(struct dbr_device *d, bool rest_unknown);

#endif
