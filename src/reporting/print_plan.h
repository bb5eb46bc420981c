/*
 * print_plan.h - what is the same for all messages of one definition, made once.
 *
 * Names, units and texts come from definitions that anybody may write: here they are
 * cleaned, and quoted as the form needs it.
 */
#ifndef DRAWBAR_REPORTING_PRINT_PLAN_H
#define DRAWBAR_REPORTING_PRINT_PLAN_H

#include "reporting/print_choice.h"
#include "reporting/print_value.h"

/* Bytes ready to be written. */
struct piece {
    const char *bytes;
    size_t length;
};

/* Quotes clean text for a form: as much as fits of `text` into `out`, at most QUOTE_GROWTH bytes
 * for each of its bytes and QUOTE_MORE beside. Returns the length. */
typedef size_t print_quote(char *out, const char *text);
#define QUOTE_GROWTH 2u
#define QUOTE_MORE 3u

struct signal_plan {
    const struct dbr_signal *signal; /* NULL: of process data, or without a fixed place */
    bool wanted;
    int column; /* -1: none */
    uint32_t spn; /* 0: none */
    struct print_scale scale;
    struct piece name, unit; /* unit: length 0 where there is none */
    struct piece *states;    /* texts, in the order of the signal's states */
};

struct message_plan {
    const struct dbr_message *message;
    struct piece name;
    bool wanted; /* some signal is, or all are */
    size_t signal_count;
    struct signal_plan *signals;
};

struct print_plans;

struct print_plans *print_plans_new(const struct dbr_definitions *definitions,
                                    const struct dbr_printing_options *options,
                                    print_quote *quote, struct dbr_error *error);
void print_plans_free(struct print_plans *plans);

/* The plan of a definition, of the values of a DDI; NULL where memory is out. */
const struct message_plan *print_plan_of(struct print_plans *plans,
                                         const struct dbr_message *message);
const struct signal_plan *print_plan_of_ddi(struct print_plans *plans, uint16_t ddi);

/* The plan of a signal without a fixed place. */
const struct signal_plan *print_plan_apart(const struct print_plans *plans,
                                           enum print_apart apart);

/* Whether a signal is to be shown; how the form quotes; the definitions in force. */
bool print_plans_want(const struct print_plans *plans, const struct print_subject *subject);
print_quote *print_plans_quote(const struct print_plans *plans);
const struct dbr_definitions *print_plans_definitions(const struct print_plans *plans);

/* A text made ready; length 0 and bytes "" for none; bytes NULL where memory is out. */
struct piece print_piece(struct print_plans *plans, const char *text);

/* Headings of the table, in the order of columns. */
size_t print_column_count(const struct print_plans *plans);
struct piece print_column_heading(const struct print_plans *plans, size_t index);

#endif
