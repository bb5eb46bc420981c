/* print_lines.h - what one line says, before it takes a form; and the forms (print_forms.c). */
#ifndef DRAWBAR_REPORTING_PRINT_LINES_H
#define DRAWBAR_REPORTING_PRINT_LINES_H

#include "drawbar/printing.h"
#include "drawbar/process_data.h"
#include "reporting/print_plan.h"

/* A signal with its value, as one message has it. */
struct shown_signal {
    const struct signal_plan *plan;
    const struct print_scale *scale;
    struct piece unit;
    uint32_t spn; /* 0: none */
    struct dbr_value value;
    int64_t raw;       /* with its sign */
    struct piece text; /* of a state; length 0: none */
    bool only_text;    /* it has no number */
};

struct print_line {
    const struct dbr_seen *seen;
    bool timed;
    struct piece interface;
    struct piece name;  /* length 0: no definition */
    struct piece words; /* what it is if it is no whole message; length 0: it is one */
    const char *frame_kind; /* of a frame that is no message: "error", "remote", "standard", "fd" */
    const char *process_command; /* of process data, else NULL */
    const struct dbr_process_data *process; /* where the command has element, DDI and value */
    size_t signal_count;
    const struct shown_signal *signals;
};

struct print_form {
    const char *name;
    print_quote *quote;
    void (*heading)(struct print_buffer *b, const struct print_plans *plans);   /* NULL: none */
    void (*line)(struct print_buffer *b, const struct print_line *line);
    void (*row)(struct print_buffer *b, const struct print_line *line, size_t columns); /* NULL:
                                                                        the form has no columns */
};

extern const struct print_form print_forms[];
extern const size_t print_form_count;

print_quote print_quote_plain, print_quote_csv, print_quote_json;
void print_text_line(struct print_buffer *b, const struct print_line *line);
void print_csv_heading(struct print_buffer *b, const struct print_plans *plans);
void print_csv_line(struct print_buffer *b, const struct print_line *line);
void print_csv_row(struct print_buffer *b, const struct print_line *line, size_t columns);
void print_json_line(struct print_buffer *b, const struct print_line *line);

void put_piece(struct print_buffer *b, struct piece piece);

/* Whether the message goes to one address: then `id.destination` is it. */
bool print_has_destination(const struct print_line *line);

/* print_words.c: in words what is no whole message. Plain ASCII of our own. Return out. */
#define PRINT_WORDS_MAX 512u
const char *print_frame_words(char *out, size_t size, const struct dbr_frame *frame);
const char *print_transfer_words(char *out, size_t size, const struct dbr_transfer *transfer);
const char *print_command_words(enum dbr_process_command command);
const char *print_acknowledge_words(char *out, size_t size, uint8_t errors);

#endif
