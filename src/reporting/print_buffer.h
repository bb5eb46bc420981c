/*
 * print_buffer.h - bytes on their way to a stream: millions of short lines without stdio between.
 *
 * A write that fails is remembered, and what follows it goes nowhere.
 */
#ifndef DRAWBAR_REPORTING_PRINT_BUFFER_H
#define DRAWBAR_REPORTING_PRINT_BUFFER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "drawbar/error.h"

#define PRINT_BUFFER_SIZE (64u * 1024u)

struct print_buffer {
    FILE *out;
    int failed; /* errno of the first write that failed, else 0 */
    size_t used;
    char bytes[PRINT_BUFFER_SIZE];
};

void put_bytes(struct print_buffer *b, const void *bytes, size_t count);
void put_text(struct print_buffer *b, const char *text);
void put_char(struct print_buffer *b, char c);

/* A number, with blanks before it up to `width`. */
void put_number(struct print_buffer *b, uint64_t number, unsigned width);

/* A number of so many hexadecimal digits. */
void put_hex_number(struct print_buffer *b, uint32_t number, unsigned digits);

/* Bytes as hexadecimal digits, in capitals. */
void put_hex(struct print_buffer *b, const uint8_t *bytes, size_t count);

/* `number` / 10^decimals; with `trim` without the zeros at its end. Decimals at most 18. */
void put_decimal(struct print_buffer *b, int64_t number, unsigned decimals, bool trim);

/* Seconds: microseconds, or nanoseconds where there are any; blanks before it up to `width`. */
void put_seconds(struct print_buffer *b, int64_t ns, unsigned width);

/* Hands all to the stream, and the stream's own on. 0, or -1 where writing has failed. */
int print_buffer_flush(struct print_buffer *b, struct dbr_error *error);

#endif
