/*
 * printing.h - decoded messages as lines: for people, spreadsheets and programs.
 *
 *     printing = dbr_printing_new(stdout, definitions, &options, &error);
 *     dbr_printing_add(printing, seen);         from inside dbr_message_seen, say
 *     dbr_printing_flush(printing, &error);     now and then: it tells a full disk
 *     dbr_printing_free(printing);
 *
 * The forms stand in one table, src/reporting/print_forms.c. What is written is UTF-8,
 * whatever the definitions and the recording hold. Memory does not grow with the
 * recording: a line is made in a buffer of fixed size, and what is the same for all
 * messages of a definition is made once.
 */
#ifndef DRAWBAR_PRINTING_H
#define DRAWBAR_PRINTING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "drawbar/api.h"
#include "drawbar/decoder.h"
#include "drawbar/reading.h"

DBR_API_BEGIN

/*
 * Signals as people name them: a name or part of it, whatever the case of its letters; an SPN;
 * for process data a name of the data dictionary, or "DDI 141". A term that is one signal's
 * whole name means that name alone.
 */
struct dbr_signal_terms {
    size_t count;
    const char *items[DBR_PRINT_TERMS_MAX];
};

struct dbr_printing_options {
    size_t form;    /* index of the form, see dbr_print_form_name */
    bool fragments; /* the frames of transfers too, beside the messages that they make */
    struct dbr_signal_terms only;    /* messages and signals to show; count 0: all */
    struct dbr_signal_terms columns; /* count 0: none. Else a table: a column for each signal, a
                                        row for each message that holds one. Only for the form
                                        that has columns */
    const struct dbr_recording_info *info; /* names of interfaces, and whether there is time */
};

struct dbr_printing;

/*
 * NULL on failure: memory, or a term that fits no signal, or too many (DBR_ERROR_USAGE).
 * Writes the heading where the form has one. All arguments must outlive the printing.
 */
struct dbr_printing *dbr_printing_new(FILE *out, const struct dbr_definitions *definitions,
                                      const struct dbr_printing_options *options,
                                      struct dbr_error *error);

/* Writes what was seen, where the options want it. True where it did. */
bool dbr_printing_add(struct dbr_printing *printing, const struct dbr_seen *seen);

/* Hands on what was written. 0, or -1 where anything failed so far (memory, a full disk). */
int dbr_printing_flush(struct dbr_printing *printing, struct dbr_error *error);

void dbr_printing_free(struct dbr_printing *printing);

/* "text", "csv", "ndjson"; NULL after the last. Whether a form has columns. Static storage. */
const char *dbr_print_form_name(size_t index);
bool dbr_print_form_has_columns(size_t index);

DBR_API_END

#endif
