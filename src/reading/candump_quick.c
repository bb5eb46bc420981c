/* candump_quick.c - see candump_quick.h. */
#include "reading/candump_quick.h"

#include <string.h>

#include "reading/stamp.h"

#define NO_DIGIT 0xF0u /* of hex_values: any of its bits says that a character was no digit */

#define SECONDS_AT 1u
#define POINT_AT 11u
#define DECIMALS_AT 12u
#define CLOSING_AT 18u
#define NAME_AT 20u
#define ID_DIGITS 8u

/* Beyond, seconds do not fit nanoseconds in 64 bits: the year 2255 is soon enough to be slow. */
#define SECONDS_MAX INT64_C(9000000000)

#define ID_FLAGS 0xE0000000u /* linux/can.h: error frames, and bits that no identifier has */

/* The value of a hexadecimal digit; 240 (NO_DIGIT) for any other character. */
static const uint8_t hex_values[256] = {
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
      0,   1,   2,   3,   4,   5,   6,   7,   8,   9, 240, 240, 240, 240, 240, 240,
    240,  10,  11,  12,  13,  14,  15, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240,  10,  11,  12,  13,  14,  15, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
    240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240, 240,
};

static unsigned hex_value(char c)
{
    return hex_values[(unsigned char)c];
}

/* Decimal digits; `*wrong` gets bits where one is none. */
static int64_t decimal(const char *at, unsigned digits, unsigned *wrong)
{
    int64_t number = 0;

    for (unsigned i = 0; i < digits; i++) {
        unsigned digit = (unsigned)(unsigned char)at[i] - '0';
        *wrong |= digit > 9 ? NO_DIGIT : 0;
        number = number * 10 + digit;
    }
    return number;
}

static uint32_t identifier(const char *at, unsigned *wrong)
{
    uint32_t id = 0;

    for (unsigned i = 0; i < ID_DIGITS; i++) {
        *wrong |= hex_value(at[i]);
        id = id << 4 | (hex_value(at[i]) & 0xFu);
    }
    return id;
}

static void data(uint8_t *out, const char *at, size_t count, unsigned *wrong)
{
    for (size_t i = 0; i < count; i++) {
        unsigned high = hex_value(at[2 * i]), low = hex_value(at[2 * i + 1]);
        *wrong |= high | low;
        out[i] = (uint8_t)(high << 4 | (low & 0xFu));
    }
}

/* Whether everything but digits stands where it does in such a line. */
static bool has_its_shape(const char *line, size_t length, const char *interface,
                          size_t interface_length)
{
    size_t head = NAME_AT + interface_length + 1 + ID_DIGITS + 1;

    return length >= head && length <= head + 2 * DBR_CLASSIC_DATA_MAX &&
           (length - head) % 2 == 0 && line[0] == '(' && line[POINT_AT] == '.' &&
           line[CLOSING_AT] == ')' && line[CLOSING_AT + 1] == ' ' && line[head - 1] == '#' &&
           line[NAME_AT + interface_length] == ' ' &&
           memcmp(line + NAME_AT, interface, interface_length) == 0;
}

bool candump_quick_read(struct dbr_frame *frame, const char *line, size_t length,
                        const char *interface, size_t interface_length)
{
    unsigned wrong = 0;

    if (!has_its_shape(line, length, interface, interface_length))
        return false;
    const char *id_at = line + NAME_AT + interface_length + 1;
    const char *data_at = id_at + ID_DIGITS + 1;
    size_t count = (size_t)(line + length - data_at) / 2;
    int64_t seconds = decimal(line + SECONDS_AT, POINT_AT - SECONDS_AT, &wrong);
    int64_t micros = decimal(line + DECIMALS_AT, CLOSING_AT - DECIMALS_AT, &wrong);
    uint32_t id = identifier(id_at, &wrong);
    memset(frame, 0, sizeof *frame);
    data(frame->data, data_at, count, &wrong);
    if ((wrong & NO_DIGIT) || seconds > SECONDS_MAX || (id & ID_FLAGS))
        return false;
    frame->at_ns = seconds * NS_PER_SECOND + micros * 1000;
    frame->id = id;
    frame->length = (uint8_t)count;
    frame->flags = DBR_FRAME_EXTENDED;
    return true;
}
