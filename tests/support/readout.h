/*
 * readout.h - contents of files, read as one recording through the public functions.
 *
 * Each call reads the same contents several times: in batches of 512, 1, 2, 3
 * and 7 frames, on one thread and on two, plain and (unless they are already) gzip'd. It fails the test
 * unless all of these give the same frames and the same account, and unless every
 * account adds up. So each test that uses it tests that too.
 */
#ifndef TESTS_SUPPORT_READOUT_H
#define TESTS_SUPPORT_READOUT_H

#include "drawbar/reading.h"
#include "support/bytes.h"

#define READOUT_FILES_MAX 72

struct readout {
    struct dbr_recording *recording;       /* NULL where it could not be opened */
    const struct dbr_recording_info *info; /* NULL where it could not be opened */
    const struct dbr_file_info *file;      /* the first of info->files */
    struct dbr_frame *frames;
    size_t count, capacity;
    int result; /* 0: read to its end; -1: `error` says why not */
    struct dbr_error error;
    char *paths[READOUT_FILES_MAX]; /* of files that are gone by now */
    size_t path_count;
};

/* Reads; the caller releases with readout_free. `options` may be NULL. */
struct readout *readout_files(const struct bytes *contents, size_t count,
                              const struct dbr_reading_options *options);
struct readout *readout_bytes(const struct bytes *content);
struct readout *readout_text(const char *text);
void readout_free(struct readout *r);

/* Asserts one file in which nothing was rejected. */
void readout_expect_sound(const struct readout *r, size_t frames);

/* Asserts how many records were rejected for `why`, and where the first of them stands. */
void readout_expect_rejected(const struct readout *r, enum dbr_rejection why, uint64_t count,
                             uint64_t first_at);

#endif
