/*
 * readings.h - a recording in memory, read through the public functions, and what must hold.
 */
#ifndef TESTS_FUZZ_READINGS_H
#define TESTS_FUZZ_READINGS_H

#include "drawbar/reading.h"
#include "fuzz/memory_file.h"
#include "support/account.h"

/* Starts as {0}; its room is used again by the next reading and never released. */
struct reading {
    struct dbr_recording *recording;
    struct dbr_frame *frames;
    size_t count, capacity;
    struct dbr_error error;
    struct account account;
};

/* Reads a file in batches of so many frames, and checks what each reading owes. */
void reading_take(struct reading *r, const struct memory_file *file, size_t batch_frames);

/* Closes the recording; its info is gone then. */
void reading_end(struct reading *r);

/* All but the time and what is concluded from it: what stamps mean is told from many of them. */
bool reading_same_frame(struct dbr_frame a, struct dbr_frame b);

/* Reads the content in one size of batch and in another, `odd` >= 1: they must not differ. */
void readings_must_agree(const uint8_t *content, size_t length, size_t odd);

#endif
