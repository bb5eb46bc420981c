/*
 * print_text.c - a message as a line for people: columns that stay in place, then what it says.
 *
 *     12.345678 can0 3 240      65096 E8030000000000FD Wheel-based speed and distance: ...
 *
 * Time, interface, priority, sender and (after ">") destination, group, data.
 */
#include <string.h>

#include "reporting/print_lines.h"

#define TIME_WIDTH 13u      /* a day in microseconds, and a blank more */
#define INTERFACE_WIDTH 4u
#define DATA_WIDTH 16u      /* digits of a single frame */

size_t print_quote_plain(char *out, const char *text)
{
    size_t length = strlen(text);

    memcpy(out, text, length);
    return length;
}

static void put_blanks(struct print_buffer *b, size_t used, size_t width)
{
    for (; used < width; used++)
        put_char(b, ' ');
}

static void put_value(struct print_buffer *b, const struct shown_signal *s)
{
    static const char *const words[] = {
        [DBR_VALUE_VALID] = "", [DBR_VALUE_NOT_AVAILABLE] = "n/a", [DBR_VALUE_ERROR] = "error",
        [DBR_VALUE_OUT_OF_RANGE] = "out of range", [DBR_VALUE_ABSENT] = "absent"};

    if (s->text.length > 0) {
        put_piece(b, s->text);
    } else if (s->value.status != DBR_VALUE_VALID) {
        put_text(b, words[s->value.status]);
    } else {
        put_rounded(b, s->scale, s->raw, s->value.number);
        if (s->unit.length > 0) {
            put_char(b, ' ');
            put_piece(b, s->unit);
        }
    }
}

static void put_signals(struct print_buffer *b, const struct print_line *line)
{
    for (size_t i = 0; i < line->signal_count; i++) {
        put_text(b, i > 0 ? ", " : ": ");
        put_piece(b, line->signals[i].plan->name);
        /* A request names what it asks for, and has no value that could be absent. */
        if (!line->process || line->signals[i].value.status == DBR_VALUE_VALID) {
            put_char(b, ' ');
            put_value(b, &line->signals[i]);
        }
    }
}

static void put_addresses(struct print_buffer *b, const struct print_line *line)
{
    const struct dbr_can_id *id = &line->seen->id;

    put_number(b, id->priority, 1);
    put_number(b, id->source, 4);
    if (print_has_destination(line)) {
        put_char(b, '>');
        put_number(b, id->destination, 3);
    } else {
        put_text(b, "    ");
    }
    put_number(b, id->pgn, 7);
}

/* An identifier in the place of addresses and group: as many digits as it has bits for. */
static void put_identifier(struct print_buffer *b, const struct dbr_frame *frame)
{
    bool eight = frame->flags & (DBR_FRAME_EXTENDED | DBR_FRAME_ERROR);

    put_text(b, eight ? "        " : "             ");
    put_hex_number(b, frame->id, eight ? 8 : 3);
}

/* Nothing follows what no definition knows: then blanks would end the line. */
static void put_data(struct print_buffer *b, const struct dbr_seen *seen, bool more)
{
    bool remote = seen->frame && (seen->frame->flags & DBR_FRAME_REMOTE);
    size_t length = seen->data && !remote ? seen->length : 0;

    if (length > 0 || more)
        put_char(b, ' ');
    put_hex(b, seen->data, length);
    put_blanks(b, 2 * length, more ? DATA_WIDTH : 0);
}

static void put_process(struct print_buffer *b, const struct print_line *line)
{
    put_text(b, ", ");
    put_text(b, line->process_command);
    if (line->process) {
        put_text(b, ", element ");
        put_number(b, line->process->element, 1);
    }
}

void print_text_line(struct print_buffer *b, const struct print_line *line)
{
    if (line->timed)
        put_seconds(b, line->seen->at_ns, TIME_WIDTH);
    else
        put_text(b, "            -");
    put_char(b, ' ');
    put_piece(b, line->interface);
    put_blanks(b, line->interface.length, INTERFACE_WIDTH);
    put_char(b, ' ');
    if (line->seen->kind == DBR_SEEN_FRAME)
        put_identifier(b, line->seen->frame);
    else
        put_addresses(b, line);
    put_data(b, line->seen, line->name.length > 0 || line->words.length > 0);
    if (line->name.length > 0) {
        put_char(b, ' ');
        put_piece(b, line->name);
    }
    if (line->process_command)
        put_process(b, line);
    put_signals(b, line);
    if (line->words.length > 0) {
        put_text(b, line->name.length > 0 ? "; " : " ");
        put_piece(b, line->words);
    }
    put_char(b, '\n');
}
