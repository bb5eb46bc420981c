/* bytes.c - see bytes.h. */
#include "support/bytes.h"

#include <criterion/criterion.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <zlib.h>

/* Room for `count` more bytes, which count as added. */
static uint8_t *grow(struct bytes *b, size_t count)
{
    if (b->length + count > b->capacity) {
        b->capacity = 2 * (b->length + count);
        b->data = realloc(b->data, b->capacity);
        cr_assert_not_null(b->data);
    }
    b->length += count;
    return b->data + b->length - count;
}

void bytes_add(struct bytes *b, const void *data, size_t length)
{
    if (length > 0)
        memcpy(grow(b, length), data, length);
}

void bytes_repeat(struct bytes *b, uint8_t value, size_t count)
{
    if (count > 0)
        memset(grow(b, count), value, count);
}

void bytes_text(struct bytes *b, const char *format, ...)
{
    char text[4096];
    va_list arguments;

    va_start(arguments, format);
    int length = vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    cr_assert(length >= 0 && (size_t)length < sizeof text);
    bytes_add(b, text, (size_t)length);
}

static void add_integer(struct bytes *b, uint64_t value, size_t width, bool big_endian)
{
    uint8_t *out = grow(b, width);

    for (size_t i = 0; i < width; i++)
        out[big_endian ? width - 1 - i : i] = (uint8_t)(value >> 8 * i);
}

void bytes_integer(struct bytes *b, uint64_t value, size_t width)
{
    add_integer(b, value, width, b->big_endian);
}

void bytes_network(struct bytes *b, uint64_t value, size_t width)
{
    add_integer(b, value, width, true);
}

void bytes_gzip(struct bytes *b, const void *content, size_t length)
{
    z_stream z = {0};

    /* Window bits 15, plus 16 for a gzip header and trailer. */
    cr_assert_eq(deflateInit2(&z, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
    size_t bound = deflateBound(&z, length);
    uint8_t *out = grow(b, bound);
    z.next_in = (void *)(uintptr_t)content;
    z.avail_in = (uInt)length;
    z.next_out = out;
    z.avail_out = (uInt)bound;
    cr_assert_eq(deflate(&z, Z_FINISH), Z_STREAM_END);
    b->length -= z.avail_out;
    deflateEnd(&z);
}

void bytes_free(struct bytes *b)
{
    free(b->data);
    *b = (struct bytes){.big_endian = b->big_endian};
}
