/* temporary.h - files with given content, and what reading them gives. */
#ifndef TESTS_SUPPORT_TEMPORARY_H
#define TESTS_SUPPORT_TEMPORARY_H

#include "drawbar/reading.h"

#define READ_MAX 4096u

/* A file with this content; the path is freed and the file removed by temporary_remove. */
char *temporary_file(const void *content, size_t length);
char *temporary_text(const char *text);
void temporary_remove(char *path);

/* The same content as one gzip member, appended to `out` (returns the new length). */
size_t gzip_append(uint8_t *out, size_t length, size_t room, const void *content, size_t count);

/* All that reading a recording gives. */
struct readout {
    int result; /* 0, or -1 with `error` */
    struct dbr_error error;
    size_t count;
    struct dbr_frame frames[READ_MAX];
    struct dbr_recording_info info;    /* its pointers into the recording are gone ... */
    struct dbr_file_info files[4];     /* ... but for these copies */
    char interfaces[4][DBR_INTERFACE_NAME_MAX];
};

/* Reads files in batches of so many frames. The readout is static: valid until the next call. */
const struct readout *read_files(const char *const *paths, size_t count,
                                 const struct dbr_reading_options *options, size_t batch_frames);

/* One file with this content, in ordinary batches; `frames + rejected == records` is asserted. */
const struct readout *read_content(const void *content, size_t length);
const struct readout *read_text(const char *text);

#endif
