/*
 * input.h - one file of a recording: it waits until its first stamp is due, is read in
 * batches, and is done.
 */
#ifndef DRAWBAR_READING_INPUT_H
#define DRAWBAR_READING_INPUT_H

#include <stdbool.h>

#include "reading/source.h"

enum input_state { INPUT_WAITING, INPUT_ACTIVE, INPUT_DONE };

struct input {
    enum input_state state;
    bool open;
    const volatile sig_atomic_t *halt; /* `stop` of the options of reading */
    bool empty;           /* holds no frame */
    bool placed;          /* its shift is settled */
    bool begun;           /* a frame of it was delivered */
    struct source source; /* its info stays valid after it was closed */
    enum dbr_time_base time_base;
    int64_t first_stamp;
    int64_t shift;           /* added to its stamps: files without absolute time, end to end */
    struct dbr_batch *batch; /* frames read and not delivered yet; NULL unless open */
    size_t used;
    const atomic_bool *stop; /* of its stream, also once it is opened again */
};

/*
 * Opens a file and learns its first stamp. One of several is closed again where it can
 * wait, and may be empty: log rotation leaves such a file behind.
 */
int input_probe(struct input *in, struct interface_table *interfaces, bool among_others,
                struct dbr_error *error);

/* Where it was readable a moment ago and no longer is, the recording lacks it, and says so. */
void input_reopen(struct input *in, struct interface_table *interfaces);

/* Reads the next frames of a file whose last ones were delivered. False at its end. */
bool input_refill(struct input *in);

/* Waiting for the bytes of this file ends when `stop` becomes true (stream.h). */
void input_stop_on(struct input *in, const atomic_bool *stop);

void input_close(struct input *in);

#endif
