/* bytes.h - builds the content of a file in memory. */
#ifndef TESTS_SUPPORT_BYTES_H
#define TESTS_SUPPORT_BYTES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Starts as {0} or, for a file of a big-endian machine, {.big_endian = true}. */
struct bytes {
    uint8_t *data; /* released by bytes_free */
    size_t length;
    size_t capacity;
    bool big_endian; /* byte order of what bytes_integer adds */
};

void bytes_add(struct bytes *b, const void *data, size_t length);
void bytes_repeat(struct bytes *b, uint8_t value, size_t count);
void bytes_text(struct bytes *b, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* `width` bytes in the byte order of `b`. */
void bytes_integer(struct bytes *b, uint64_t value, size_t width);

/* The same, most significant byte first whatever the order of `b`. */
void bytes_network(struct bytes *b, uint64_t value, size_t width);

/* `content` as one more gzip member. */
void bytes_gzip(struct bytes *b, const void *content, size_t length);

void bytes_free(struct bytes *b);

#endif
