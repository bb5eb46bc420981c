/*
 * print_forms.c - the forms in which messages are printed.
 *
 * To add one: write a function that puts a line, in a file of its own, declare it in
 * print_lines.h, add a row here, and give tests/unit/reporting/printing.c its line.
 */
#include <string.h>

#include "reporting/print_lines.h"

const struct print_form print_forms[] = {
    {"text", print_quote_plain, NULL, print_text_line, NULL},
    {"csv", print_quote_csv, print_csv_heading, print_csv_line, print_csv_row},
    {"ndjson", print_quote_json, NULL, print_json_line, NULL},
};

const size_t print_form_count = sizeof print_forms / sizeof print_forms[0];

const char *dbr_print_form_name(size_t index)
{
    return index < print_form_count ? print_forms[index].name : NULL;
}

bool dbr_print_form_has_columns(size_t index)
{
    return index < print_form_count && print_forms[index].row;
}

void put_piece(struct print_buffer *b, struct piece piece)
{
    put_bytes(b, piece.bytes, piece.length);
}

bool print_has_destination(const struct print_line *line)
{
    const struct dbr_seen *seen = line->seen;

    return seen->kind != DBR_SEEN_FRAME && !seen->id.broadcast &&
           seen->id.destination != DBR_ADDRESS_GLOBAL;
}
