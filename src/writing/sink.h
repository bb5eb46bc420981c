/*
 * sink.h - where bytes go: a file as it is, or gzip'd. Small pieces gather until there are many:
 * a call of the system's library for each field of a frame costs more than the frame.
 */
#ifndef DRAWBAR_WRITING_SINK_H
#define DRAWBAR_WRITING_SINK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <zlib.h>

#include "drawbar/error.h"

#define SINK_BYTES 65536u /* as a pipe holds; beyond it nothing is gained */

struct sink {
    FILE *file;
    bool compress;
    bool failed; /* something could not be written; told by sink_close */
    int why;     /* errno of the first failure */
    z_stream gzip;
    size_t gathered;
    uint8_t bytes[SINK_BYTES];
};

/* -1: out of memory. */
int sink_open(struct sink *s, FILE *file, bool compress, struct dbr_error *error);

void sink_write(struct sink *s, const void *bytes, size_t length);

/* Little-endian integers, as captures are written. */
void sink_u16(struct sink *s, uint32_t value);
void sink_u32(struct sink *s, uint32_t value);

/* -1 where anything failed since sink_open; also before the end, to stop early: what is still
 * gathered fails later. */
int sink_check(const struct sink *s, struct dbr_error *error);
int sink_close(struct sink *s, struct dbr_error *error);

#endif
