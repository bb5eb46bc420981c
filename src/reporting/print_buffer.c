/* print_buffer.c - see print_buffer.h. */
#include "reporting/print_buffer.h"

#include <errno.h>
#include <string.h>

#include "drawbar/frame.h"

#define DIGITS_MAX 24u /* 20 of the largest 64-bit number, a point, a sign */

static void hand_on(struct print_buffer *b)
{
    errno = 0;
    if (!b->failed && fwrite(b->bytes, 1, b->used, b->out) < b->used)
        b->failed = errno ? errno : EIO;
    b->used = 0;
}

void put_bytes(struct print_buffer *b, const void *bytes, size_t count)
{
    const char *from = bytes;

    if (count == 0)
        return; /* `bytes` may be NULL then */
    while (count > sizeof b->bytes - b->used) {
        size_t room = sizeof b->bytes - b->used;
        memcpy(b->bytes + b->used, from, room);
        b->used += room;
        from += room;
        count -= room;
        hand_on(b);
    }
    memcpy(b->bytes + b->used, from, count);
    b->used += count;
}

void put_text(struct print_buffer *b, const char *text)
{
    put_bytes(b, text, strlen(text));
}

void put_char(struct print_buffer *b, char c)
{
    if (b->used == sizeof b->bytes)
        hand_on(b);
    b->bytes[b->used++] = c;
}

/* Writes the digits of a number, at least `least` of them, before `end`; returns where they begin. */
static char *digits_before(char *end, uint64_t number, unsigned least)
{
    char *at = end;

    while (number > 0 || end - at < (ptrdiff_t)least) {
        *--at = (char)('0' + number % 10);
        number /= 10;
    }
    return at;
}

static void put_padded(struct print_buffer *b, const char *text, size_t length, unsigned width)
{
    for (size_t i = length; i < width; i++)
        put_char(b, ' ');
    put_bytes(b, text, length);
}

void put_number(struct print_buffer *b, uint64_t number, unsigned width)
{
    char digits[DIGITS_MAX];
    char *end = digits + sizeof digits;
    char *at = digits_before(end, number, 1);

    put_padded(b, at, (size_t)(end - at), width);
}

static const char hex_digits[] = "0123456789ABCDEF";

void put_hex_number(struct print_buffer *b, uint32_t number, unsigned digits)
{
    while (digits-- > 0)
        put_char(b, hex_digits[number >> 4 * digits & 0xFu]);
}

void put_hex(struct print_buffer *b, const uint8_t *bytes, size_t count)
{
    char digits[2 * DBR_CLASSIC_DATA_MAX];

    while (count > 0) {
        size_t part = count < DBR_CLASSIC_DATA_MAX ? count : DBR_CLASSIC_DATA_MAX;
        for (size_t i = 0; i < part; i++) {
            digits[2 * i] = hex_digits[bytes[i] >> 4];
            digits[2 * i + 1] = hex_digits[bytes[i] & 0xFu];
        }
        put_bytes(b, digits, 2 * part);
        bytes += part;
        count -= part;
    }
}

void put_decimal(struct print_buffer *b, int64_t number, unsigned decimals, bool trim)
{
    char text[DIGITS_MAX];
    char *end = text + sizeof text, *at = end;
    uint64_t magnitude = number < 0 ? 0 - (uint64_t)number : (uint64_t)number;

    for (; trim && decimals > 0 && magnitude % 10 == 0; decimals--)
        magnitude /= 10;
    for (unsigned i = 0; i < decimals; i++) {
        *--at = (char)('0' + magnitude % 10);
        magnitude /= 10;
    }
    if (decimals > 0)
        *--at = '.';
    at = digits_before(at, magnitude, 1);
    if (number < 0)
        *--at = '-';
    put_bytes(b, at, (size_t)(end - at));
}

void put_seconds(struct print_buffer *b, int64_t ns, unsigned width)
{
    char text[DIGITS_MAX];
    char *end = text + sizeof text;
    uint64_t count = ns < 0 ? 0 : (uint64_t)ns; /* time since the first frame */
    bool micro = count % 1000 == 0;
    uint64_t part = count % 1000000000u;
    char *at = digits_before(end, micro ? part / 1000 : part, micro ? 6 : 9);

    *--at = '.';
    at = digits_before(at, count / 1000000000u, 1);
    put_padded(b, at, (size_t)(end - at), width);
}

int print_buffer_flush(struct print_buffer *b, struct dbr_error *error)
{
    hand_on(b);
    errno = 0;
    if (!b->failed && (fflush(b->out) != 0 || ferror(b->out)))
        b->failed = errno ? errno : EIO;
    if (!b->failed)
        return 0;
    return dbr_error_set(error, DBR_ERROR_WRITE, "the messages cannot be written: %s",
                         strerror(b->failed));
}
