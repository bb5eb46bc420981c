/*
 * write_text.c - "(1717000000.123456) can0 18FEF100#FF00FF00FF00FF00 R", and without stamps the
 * console form "can0  RX - -  18FEF100  [8]  FF 00 FF 00 FF 00 FF 00".
 */
#include <string.h>

#include "text/clean.h"
#include "writing/writer.h"

#define ERROR_FLAG 0x20000000u /* linux/can.h: in text it stands in the identifier */
#define LINE_BYTES (DBR_INTERFACE_NAME_MAX + 3 * DBR_FD_DATA_MAX + 80)
#define NS_PER_S UINT64_C(1000000000)
#define SECOND_DIGITS 10 /* as the log form is written; more where there are more */

static char *put_text(char *at, const char *text)
{
    size_t length = strlen(text);

    memcpy(at, text, length);
    return at + length;
}

static char *put_hex(char *at, uint32_t value, unsigned digits)
{
    static const char hex[] = "0123456789ABCDEF";

    for (unsigned i = 0; i < digits; i++)
        at[i] = hex[value >> 4 * (digits - 1 - i) & 0xFu];
    return at + digits;
}

/* At least `digits` decimal digits. */
static char *put_decimal(char *at, uint64_t value, unsigned digits)
{
    char reversed[20];
    unsigned count = 0;

    do {
        reversed[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value > 0 || count < digits);
    for (unsigned i = 0; i < count; i++)
        at[i] = reversed[count - 1 - i];
    return at + count;
}

/* Microseconds where they suffice, as most recorders write them; else nanoseconds. */
static char *put_stamp(char *at, uint64_t ns)
{
    uint64_t fraction = ns % NS_PER_S;

    *at++ = '(';
    at = put_decimal(at, ns / NS_PER_S, SECOND_DIGITS);
    *at++ = '.';
    at = fraction % 1000 == 0 ? put_decimal(at, fraction / 1000, 6) : put_decimal(at, fraction, 9);
    return put_text(at, ") ");
}

static char *put_id(char *at, const struct dbr_frame *frame)
{
    if (frame->flags & DBR_FRAME_ERROR)
        return put_hex(at, frame->id | ERROR_FLAG, 8);
    return put_hex(at, frame->id, frame->flags & DBR_FRAME_EXTENDED ? 8 : 3);
}

static char *put_log_payload(char *at, const struct dbr_frame *frame)
{
    *at++ = '#';
    if (frame->flags & DBR_FRAME_REMOTE) {
        *at++ = 'R';
        at = put_hex(at, frame->length, 1);
    } else {
        if (frame->flags & DBR_FRAME_FD) {
            *at++ = '#';
            at = put_hex(at, (frame->flags & DBR_FRAME_BRS ? 1u : 0u) |
                                 (frame->flags & DBR_FRAME_ESI ? 2u : 0u), 1);
        }
        for (unsigned i = 0; i < frame->length; i++)
            at = put_hex(at, frame->data[i], 2);
    }
    if (frame->raw_dlc > 0) {
        *at++ = '_';
        at = put_hex(at, frame->raw_dlc, 1);
    }
    return put_text(at, frame->flags & DBR_FRAME_SENT ? " T" : "");
}

static char *put_console_payload(char *at, const struct dbr_frame *frame)
{
    *at++ = frame->raw_dlc > 0 ? '{' : '[';
    if (frame->raw_dlc > 0)
        at = put_hex(at, frame->raw_dlc, 1);
    else
        at = put_decimal(at, frame->length, frame->flags & DBR_FRAME_FD ? 2 : 1);
    *at++ = frame->raw_dlc > 0 ? '}' : ']';
    if (frame->flags & DBR_FRAME_REMOTE)
        return put_text(at, "  remote request");
    for (unsigned i = 0; i < frame->length; i++) {
        *at++ = ' ';
        at = put_hex(at, frame->data[i], 2);
    }
    return put_text(at, frame->flags & DBR_FRAME_ERROR ? "  ERRORFRAME" : "");
}

static char *put_direction(char *at, const struct dbr_frame *frame)
{
    at = put_text(at, frame->flags & DBR_FRAME_SENT ? "  TX " : "  RX ");
    *at++ = frame->flags & DBR_FRAME_BRS ? 'B' : '-';
    *at++ = ' ';
    *at++ = frame->flags & DBR_FRAME_ESI ? 'E' : '-';
    return put_text(at, "  ");
}

/* A name that is one word, not one that begins a comment or a stamp, and harmless: text may go to
 * a terminal, and a name that was changed might be that of another interface. */
static bool can_stand_in_text(const char *name)
{
    char clean[DBR_INTERFACE_NAME_MAX * CLEAN_GROWTH];

    if (*name == '\0' || *name == '#' || *name == '(' || strchr(name, ' '))
        return false;
    return strcmp(clean_text(clean, sizeof clean, name), name) == 0;
}

static int begin(struct dbr_writer *w, struct dbr_error *error)
{
    for (size_t i = 0; i < w->options.interface_count; i++)
        if (!can_stand_in_text(w->options.interfaces[i]))
            return dbr_error_set(error, DBR_ERROR_USAGE,
                                 "text cannot hold an interface of the name \"%s\"; write pcapng",
                                 w->options.interfaces[i]);
    return 0;
}

static int write_frame(struct dbr_writer *w, const struct dbr_frame *frame, int64_t stamp_ns,
                       struct dbr_error *error)
{
    const char *interface = w->options.interfaces[frame->interface];
    bool stamped = w->options.time_base != DBR_TIME_NONE;
    char line[LINE_BYTES], *at = line;

    if (stamped)
        at = put_stamp(at, (uint64_t)stamp_ns);
    at = put_text(at, interface);
    if (stamped)
        *at++ = ' ';
    else
        at = put_direction(at, frame);
    at = put_id(at, frame);
    if (stamped) {
        at = put_log_payload(at, frame);
    } else {
        at = put_text(at, "  ");
        at = put_console_payload(at, frame);
    }
    *at++ = '\n';
    sink_write(&w->sink, line, (size_t)(at - line));
    return sink_check(&w->sink, error);
}

const struct form form_text = {begin, write_frame};
