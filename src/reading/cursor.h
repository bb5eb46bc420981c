/*
 * cursor.h - bounded reading from bytes in memory.
 *
 * A cursor never reads past its end: a getter that would returns 0 and marks the
 * cursor as failed. Read everything first, test `failed` once at the end.
 */
#ifndef DRAWBAR_READING_CURSOR_H
#define DRAWBAR_READING_CURSOR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct cursor {
    const uint8_t *data;
    size_t length;
    size_t offset;
    bool big_endian; /* byte order of the multi-byte getters */
    bool failed;
};

static inline struct cursor cursor_over(const void *data, size_t length, bool big_endian)
{
    return (struct cursor){.data = data, .length = length, .big_endian = big_endian};
}

static inline size_t cursor_left(const struct cursor *c)
{
    return c->length - c->offset;
}

/* The next `count` bytes, or NULL where so many are not left. */
static inline const uint8_t *cursor_take(struct cursor *c, size_t count)
{
    if (c->failed || cursor_left(c) < count) {
        c->failed = true;
        return NULL;
    }
    const uint8_t *bytes = c->data + c->offset;
    c->offset += count;
    return bytes;
}

static inline uint64_t cursor_integer(struct cursor *c, size_t width)
{
    const uint8_t *bytes = cursor_take(c, width);
    uint64_t value = 0;

    for (size_t i = 0; bytes && i < width; i++)
        value = value << 8 | bytes[c->big_endian ? i : width - 1 - i];
    return value;
}

static inline uint8_t cursor_u8(struct cursor *c)
{
    const uint8_t *bytes = cursor_take(c, 1);
    return bytes ? bytes[0] : 0;
}

static inline uint16_t cursor_u16(struct cursor *c)
{
    const uint8_t *bytes = cursor_take(c, 2);
    unsigned value = bytes ? (unsigned)bytes[0] << 8 | bytes[1] : 0;
    return c->big_endian ? (uint16_t)value : __builtin_bswap16((uint16_t)value);
}

/* Every packet has some: written so that compilers make one load of it. */
static inline uint32_t cursor_u32(struct cursor *c)
{
    const uint8_t *bytes = cursor_take(c, 4);
    uint32_t value = bytes ? (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 |
                                 (uint32_t)bytes[2] << 8 | bytes[3]
                           : 0;
    return c->big_endian ? value : __builtin_bswap32(value);
}

#endif
