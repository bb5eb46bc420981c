/* candump_quick.c - see candump_quick.h. */
#include "reading/candump_quick.h"

#include <string.h>

#include "reading/digits.h"
#include "reading/stamp.h"

#define WORD 8u /* digits that are read at once */

#define SECONDS_AT 1u
#define POINT_AT 11u
#define DECIMALS_AT 12u
#define CLOSING_AT 18u
#define NAME_AT 20u
#define ID_DIGITS WORD

/* Beyond, seconds do not fit nanoseconds in 64 bits: the year 2255 is soon enough to be slow. */
#define SECONDS_MAX INT64_C(9000000000)

#define ID_FLAGS 0xE0000000u /* linux/can.h: error frames, and bits that no identifier has */

static int64_t seconds_of(const char *line, unsigned *wrong)
{
    const unsigned rest = POINT_AT - SECONDS_AT - WORD;

    return digits_decimal_word(line + SECONDS_AT, wrong) * 100 +
           digits_decimal(line + SECONDS_AT + WORD, rest, wrong);
}

static void data(uint8_t *out, const char *at, size_t count, unsigned *wrong)
{
    size_t i = 0;

    for (; i + 4 <= count; i += 4) {
        uint32_t word = digits_hex_word(at + 2 * i, wrong);
        out[i] = (uint8_t)(word >> 24);
        out[i + 1] = (uint8_t)(word >> 16);
        out[i + 2] = (uint8_t)(word >> 8);
        out[i + 3] = (uint8_t)word;
    }
    for (; i < count; i++)
        out[i] = (uint8_t)digits_hex(at + 2 * i, 2, wrong);
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
    int64_t seconds = seconds_of(line, &wrong);
    int64_t micros = digits_decimal(line + DECIMALS_AT, CLOSING_AT - DECIMALS_AT, &wrong);
    uint32_t id = digits_hex_word(id_at, &wrong);
    memset(frame, 0, sizeof *frame);
    data(frame->data, data_at, count, &wrong);
    if (wrong || seconds > SECONDS_MAX || (id & ID_FLAGS))
        return false;
    frame->at_ns = seconds * NS_PER_SECOND + micros * 1000;
    frame->id = id;
    frame->length = (uint8_t)count;
    frame->flags = DBR_FRAME_EXTENDED;
    return true;
}
