/*
 * wire.h - the bus: one frame at a time, the lowest identifier first.
 */
#ifndef SAMPLES_WIRE_H
#define SAMPLES_WIRE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct wire_frame {
    int64_t at_us;  /* when it is ready to be sent; then when its last bit was on the bus */
    uint32_t id;    /* 29 bits, or in an error frame the classes */
    uint8_t length;
    uint8_t data[8];
    bool error;     /* the recorder's own word about the bus */
};

#define WIRE_WAITING 64u

struct wire {
    int64_t free_us; /* the bus is free from then on */
    size_t waiting_count;
    struct wire_frame waiting[WIRE_WAITING];
};

/* A sender has a frame. False where too many wait: then the scenario is wrong. */
bool wire_offer(struct wire *w, const struct wire_frame *frame);

/* When the next frame would begin; INT64_MAX where none waits. */
int64_t wire_next_us(const struct wire *w);

/* Sends the frame that wins among those that are ready. */
struct wire_frame wire_send(struct wire *w);

#endif
