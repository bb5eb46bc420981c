/*
 * print_ndjson.c - a message as a JSON object on a line of its own (RFC 8259), keys as the README
 * has them. Without cJSON: it would build and free a tree for each of millions of lines.
 */
#include <string.h>

#include "reporting/print_lines.h"

/* Clean text holds no control characters: quotes and backslashes are left to be escaped. */
size_t print_quote_json(char *out, const char *text)
{
    size_t used = 0;

    out[used++] = '"';
    for (; *text; text++) {
        if (*text == '"' || *text == '\\')
            out[used++] = '\\';
        out[used++] = *text;
    }
    out[used++] = '"';
    return used;
}

static void put_or_null(struct print_buffer *b, struct piece piece)
{
    if (piece.length > 0)
        put_piece(b, piece);
    else
        put_text(b, "null");
}

static void put_address(struct print_buffer *b, const char *key, bool known, uint32_t number)
{
    put_text(b, key);
    if (known)
        put_number(b, number, 0);
    else
        put_text(b, "null");
}

static void put_data(struct print_buffer *b, const struct dbr_seen *seen)
{
    bool remote = seen->frame && (seen->frame->flags & DBR_FRAME_REMOTE);

    put_text(b, ",\"data\":");
    if (!seen->data) {
        put_text(b, "null");
        return;
    }
    put_char(b, '"');
    put_hex(b, seen->data, remote ? 0 : seen->length);
    put_char(b, '"');
}

static void put_signal(struct print_buffer *b, const struct shown_signal *s)
{
    put_text(b, "{\"name\":");
    put_piece(b, s->plan->name);
    if (s->spn) {
        put_text(b, ",\"spn\":");
        put_number(b, s->spn, 0);
    }
    put_text(b, ",\"value\":");
    if (s->value.status == DBR_VALUE_VALID && !s->only_text)
        put_exact(b, s->scale, s->raw, s->value.number);
    else
        put_text(b, "null");
    if (s->unit.length > 0) {
        put_text(b, ",\"unit\":");
        put_piece(b, s->unit);
    }
    if (s->text.length > 0) {
        put_text(b, ",\"text\":");
        put_piece(b, s->text);
    }
    put_text(b, ",\"status\":\"");
    put_text(b, dbr_value_status_name(s->value.status));
    put_text(b, "\"}");
}

static void put_signals(struct print_buffer *b, const struct print_line *line)
{
    put_text(b, ",\"signals\":[");
    for (size_t i = 0; i < line->signal_count; i++) {
        if (i > 0)
            put_char(b, ',');
        put_signal(b, &line->signals[i]);
    }
    put_char(b, ']');
}

static void put_process(struct print_buffer *b, const struct print_line *line)
{
    put_text(b, ",\"process\":{\"command\":\"");
    put_text(b, line->process_command);
    put_char(b, '"');
    if (line->process) {
        put_text(b, ",\"element\":");
        put_number(b, line->process->element, 0);
        put_text(b, ",\"ddi\":");
        put_number(b, line->process->ddi, 0);
    }
    put_char(b, '}');
}

static void put_frame(struct print_buffer *b, const struct print_line *line)
{
    const struct dbr_frame *frame = line->seen->frame;
    bool eight = frame->flags & (DBR_FRAME_EXTENDED | DBR_FRAME_ERROR);

    put_text(b, ",\"frame\":{\"kind\":\"");
    put_text(b, line->frame_kind);
    put_text(b, "\",\"id\":\"");
    put_hex_number(b, frame->id, eight ? 8 : 3);
    put_text(b, "\",\"text\":");
    put_piece(b, line->words);
    put_char(b, '}');
}

static void put_transfer(struct print_buffer *b, const struct print_line *line)
{
    const struct dbr_transfer *t = line->seen->transfer;

    put_text(b, ",\"transfer\":{\"carrier\":\"");
    put_text(b, dbr_carrier_name(t->carrier));
    put_text(b, "\",\"complete\":");
    put_text(b, t->end == DBR_TRANSFER_COMPLETE ? "true" : "false");
    put_text(b, ",\"start\":");
    if (line->timed)
        put_seconds(b, t->start_ns, 0);
    else
        put_text(b, "null");
    put_text(b, ",\"size\":");
    put_number(b, t->size, 0);
    if (line->words.length > 0) {
        put_text(b, ",\"text\":");
        put_piece(b, line->words);
    }
    put_char(b, '}');
}

void print_json_line(struct print_buffer *b, const struct print_line *line)
{
    const struct dbr_seen *seen = line->seen;
    bool message = seen->kind != DBR_SEEN_FRAME;

    put_text(b, "{\"t\":");
    if (line->timed)
        put_seconds(b, seen->at_ns, 0);
    else
        put_text(b, "null");
    put_text(b, ",\"interface\":");
    put_piece(b, line->interface);
    put_address(b, ",\"address\":", message, seen->id.source);
    put_address(b, ",\"destination\":", print_has_destination(line), seen->id.destination);
    put_address(b, ",\"priority\":", message, seen->id.priority);
    put_address(b, ",\"pgn\":", message, seen->id.pgn);
    put_text(b, ",\"name\":");
    put_or_null(b, line->name);
    put_data(b, seen);
    put_signals(b, line);
    if (line->process_command)
        put_process(b, line);
    if (line->frame_kind)
        put_frame(b, line);
    if (seen->transfer)
        put_transfer(b, line);
    if (seen->kind == DBR_SEEN_FRAGMENT)
        put_text(b, ",\"fragment\":true");
    put_text(b, "}\n");
}
