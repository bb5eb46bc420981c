/*
 * stream.h - the bytes of a file or of standard input, decompressed, seen through a window.
 *
 * Nothing seeks, so that pipes work. A reader looks at the next bytes with
 * stream_peek and lets go of them with stream_skip; what it sees is valid until
 * its next call. A gzip'd file (any number of members) is told by its first two
 * bytes (RFC 1952 2.3.1) and decompressed on the way.
 *
 * A stream that breaks off (read error, damaged or cut gzip data) ends where it
 * breaks; `flaw` then says why.
 */
#ifndef DRAWBAR_READING_STREAM_H
#define DRAWBAR_READING_STREAM_H

#include <signal.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <zlib.h>

#include "drawbar/error.h"

struct stream {
    int fd;
    const atomic_bool *stop; /* once true, a read that would wait ends the stream; may be NULL */
    const volatile sig_atomic_t *halt; /* other than 0: ends here and now, as a flaw; may be NULL */
    bool compressed;
    bool in_member;  /* inside a gzip member: an end of input here is a cut */
    bool ended;      /* nothing more will come into the window */
    char flaw[128];  /* why it ended before its end; empty where it did not */
    uint8_t *window; /* DBR_STREAM_WINDOW bytes */
    size_t begin, end;
    uint8_t *packed; /* compressed input, DBR_STREAM_WINDOW bytes; NULL for plain files */
    z_stream inflate;
};

/* Opens `path` ("-": standard input); `halt` is `stop` of the options of reading. The stream is
 * released by stream_close, also after failure. */
int stream_open(struct stream *s, const char *path, const volatile sig_atomic_t *halt,
                struct dbr_error *error);
void stream_close(struct stream *s);

/*
 * Shows the next bytes: at least `want` (<= DBR_STREAM_WINDOW) unless the stream
 * ends before. Returns how many are visible; 0 only at the end.
 */
size_t stream_peek(struct stream *s, size_t want, const uint8_t **bytes);

/* Lets go of `count` bytes that are visible. */
void stream_skip(struct stream *s, size_t count);

/* Copies up to `count` bytes out and lets go of them; fewer only at the end. */
size_t stream_read(struct stream *s, void *out, size_t count);

/* Lets go of `count` bytes, visible or not. False where the stream ended before. */
bool stream_discard(struct stream *s, uint64_t count);

#endif
