/*
 * own_stream.h - streams of the C library whose bytes come from, or go to, a function of ours.
 *
 * The one place where the C library of Linux is asked for more than POSIX has (fopencookie): what
 * another system would need goes here. `context` is borrowed until the stream is closed. Both
 * return NULL where memory is out.
 */
#ifndef DRAWBAR_TEXT_OWN_STREAM_H
#define DRAWBAR_TEXT_OWN_STREAM_H

#include <stdio.h>
#include <sys/types.h>

/* `read` returns the bytes that it put to `out`, 0 at the end, -1 on failure. */
FILE *own_stream_to_read(void *context, ssize_t (*read)(void *context, char *out, size_t count));

/* `write` returns the bytes that it took, 0 on failure: then the stream has its error set. */
FILE *own_stream_to_write(void *context,
                          ssize_t (*write)(void *context, const char *from, size_t count));

#endif
