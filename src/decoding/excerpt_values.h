/*
 * excerpt_values.h - what stood before a window: values that are told on change hold until the
 * next, and the one that holds in a window may have been told long before it.
 */
#ifndef DRAWBAR_DECODING_EXCERPT_VALUES_H
#define DRAWBAR_DECODING_EXCERPT_VALUES_H

#include "drawbar/decoder.h"
#include "drawbar/limits.h"

/* A value of process data, or a group with a value that takes part in the diagnosis. */
struct told_value {
    bool used;
    uint8_t interface;
    uint32_t id;        /* the CAN identifier */
    uint32_t head;      /* of process data: command, element and DDI */
    uint64_t frame;     /* where it was told last: the frames are counted from 0 */
};

struct told_values {
    size_t value_count;
    struct told_value values[DBR_EXCERPT_VALUES_MAX]; /* by hash */
    size_t count, capacity;
    uint64_t *frames; /* those to keep; in order once they have been sorted */
    size_t next;      /* of `frames`, at the second reading */
    uint64_t beyond;  /* told by more than there is room for */
    bool out_of_memory;
};

/* A single frame that is a message; others are passed over. */
void told_values_seen(struct told_values *t, const struct dbr_seen *seen, uint64_t frame);

/* A window begins: all that holds now is kept. */
void told_values_keep(struct told_values *t);

/* All frames have been seen. */
void told_values_sort(struct told_values *t);

/* Whether a frame is one of those kept; asked for all in order. */
bool told_values_want(struct told_values *t, uint64_t frame);

#endif
