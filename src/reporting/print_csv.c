/*
 * print_csv.c - messages for spreadsheets: a row for each signal, or a column.
 *
 * Quoting as in RFC 4180; lines end with a line feed alone, as text does on this side
 * of the fence. A cell that a spreadsheet would take for a formula is kept a text by an
 * apostrophe before it (common practice, no source); so is what follows a semicolon, where
 * spreadsheets of countries with a decimal comma begin the next cell. What is unknown is an
 * empty cell.
 */
#include <string.h>

#include "reporting/print_lines.h"

/* The marks also in full width, as spreadsheets of East Asia take them (common practice, no
 * source). Blanks before them are passed over, and so are quotes that would be undone. */
static bool begins_formula(const char *text)
{
    static const char *const marks[] = {"=",            "+",            "-",           "@",
                                        "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D",
                                        "\xEF\xBC\xA0"};

    text += strspn(text, " \"");
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
        if (strncmp(text, marks[i], strlen(marks[i])) == 0)
            return true;
    return false;
}

size_t print_quote_csv(char *out, const char *text)
{
    bool quoted = strpbrk(text, ",;\"\r\n") != NULL || text[0] == ' ';
    size_t used = 0;

    if (quoted)
        out[used++] = '"';
    if (begins_formula(text))
        out[used++] = '\'';
    for (; *text; text++) {
        if (*text == '"')
            out[used++] = '"';
        out[used++] = *text;
        if (*text == ';' && begins_formula(text + 1))
            out[used++] = '\'';
    }
    if (quoted)
        out[used++] = '"';
    return used;
}

void print_csv_heading(struct print_buffer *b, const struct print_plans *plans)
{
    size_t columns = print_column_count(plans);

    if (columns == 0) {
        put_text(b, "time,interface,address,destination,priority,pgn,message,data,signal,spn,"
                    "value,unit,status,text,command,element,ddi\n");
        return;
    }
    put_text(b, "time");
    for (size_t i = 0; i < columns; i++) {
        put_char(b, ',');
        put_piece(b, print_column_heading(plans, i));
    }
    put_text(b, ",interface,address,element\n");
}

static void put_time(struct print_buffer *b, const struct print_line *line)
{
    if (line->timed)
        put_seconds(b, line->seen->at_ns, 0);
    put_char(b, ',');
}

/* All that is the same for the signals of a message. */
static void put_head(struct print_buffer *b, const struct print_line *line)
{
    const struct dbr_seen *seen = line->seen;

    put_time(b, line);
    put_piece(b, line->interface);
    put_char(b, ',');
    if (seen->kind != DBR_SEEN_FRAME)
        put_number(b, seen->id.source, 0);
    put_char(b, ',');
    if (print_has_destination(line))
        put_number(b, seen->id.destination, 0);
    put_char(b, ',');
    if (seen->kind != DBR_SEEN_FRAME) {
        put_number(b, seen->id.priority, 0);
        put_char(b, ',');
        put_number(b, seen->id.pgn, 0);
    } else {
        put_char(b, ',');
    }
    put_char(b, ',');
    put_piece(b, line->name);
    put_char(b, ',');
    if (seen->data && !(seen->frame && (seen->frame->flags & DBR_FRAME_REMOTE)))
        put_hex(b, seen->data, seen->length);
    put_char(b, ',');
}

static void put_signal(struct print_buffer *b, const struct shown_signal *s)
{
    put_piece(b, s->plan->name);
    put_char(b, ',');
    if (s->spn)
        put_number(b, s->spn, 0);
    put_char(b, ',');
    if (s->value.status == DBR_VALUE_VALID && !s->only_text)
        put_exact(b, s->scale, s->raw, s->value.number);
    put_char(b, ',');
    put_piece(b, s->unit);
    put_char(b, ',');
    put_text(b, dbr_value_status_name(s->value.status));
    put_char(b, ',');
    put_piece(b, s->text);
}

static void put_process(struct print_buffer *b, const struct print_line *line)
{
    put_char(b, ',');
    put_text(b, line->process_command ? line->process_command : "");
    put_char(b, ',');
    if (line->process)
        put_number(b, line->process->element, 0);
    put_char(b, ',');
    if (line->process)
        put_number(b, line->process->ddi, 0);
    put_char(b, '\n');
}

void print_csv_line(struct print_buffer *b, const struct print_line *line)
{
    for (size_t i = 0; i < line->signal_count; i++) {
        put_head(b, line);
        put_signal(b, &line->signals[i]);
        put_process(b, line);
    }
    if (line->signal_count > 0)
        return;
    put_head(b, line);
    put_text(b, ",,,,,");
    put_piece(b, line->words);
    put_process(b, line);
}

static void put_cell(struct print_buffer *b, const struct shown_signal *s)
{
    if (s->value.status != DBR_VALUE_VALID)
        return;
    if (s->text.length > 0)
        put_piece(b, s->text);
    else
        put_exact(b, s->scale, s->raw, s->value.number);
}

/* The next signal of a column, from `*at` on; NULL where there is none. */
static const struct shown_signal *next_of(const struct print_line *line, int column, size_t *at)
{
    while (*at < line->signal_count)
        if (line->signals[(*at)++].plan->column == column)
            return &line->signals[*at - 1];
    return NULL;
}

/* One row: of each column its next signal. False where none was left. */
static bool fill_cells(const struct shown_signal **cells, const struct print_line *line,
                       size_t *next, size_t columns)
{
    bool any = false;

    for (size_t i = 0; i < columns; i++) {
        cells[i] = next_of(line, (int)i, &next[i]);
        any = any || cells[i];
    }
    return any;
}

static void put_row(struct print_buffer *b, const struct print_line *line,
                    const struct shown_signal *const *cells, size_t columns)
{
    put_time(b, line);
    for (size_t i = 0; i < columns; i++) {
        if (cells[i])
            put_cell(b, cells[i]);
        put_char(b, ',');
    }
    put_piece(b, line->interface);
    put_char(b, ',');
    put_number(b, line->seen->id.source, 0);
    put_char(b, ',');
    if (line->process)
        put_number(b, line->process->element, 0);
    put_char(b, '\n');
}

/* A message with several signals of one column, as a list of trouble codes, has several rows. */
void print_csv_row(struct print_buffer *b, const struct print_line *line, size_t columns)
{
    const struct shown_signal *cells[DBR_PRINT_COLUMNS_MAX];
    size_t next[DBR_PRINT_COLUMNS_MAX] = {0};

    while (fill_cells(cells, line, next, columns))
        put_row(b, line, cells, columns);
}
