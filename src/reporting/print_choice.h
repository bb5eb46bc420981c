/* print_choice.h - which signals are meant by the terms that a person gave. */
#ifndef DRAWBAR_REPORTING_PRINT_CHOICE_H
#define DRAWBAR_REPORTING_PRINT_CHOICE_H

#include "drawbar/printing.h"

/* A signal in force: of a definition, or of the data dictionary of process data. */
struct print_subject {
    const char *name;
    const char *unit;
    uint32_t spn; /* 0: none */
    int32_t ddi;  /* -1: no process data */
};

/* The DDI of a term like "DDI 141", which need not be in the dictionary; else -1. */
int32_t print_term_ddi(const char *term);

/* A signal without a fixed place, see print_troubles.h: a message may have many, and no column
 * could hold them. */
#define PRINT_CODE_NAME "Trouble code"
extern const struct print_subject print_code_subject;

struct print_choice {
    const struct dbr_signal_terms *terms;
    bool whole[DBR_PRINT_TERMS_MAX]; /* the term is a whole name: it means no others */
};

/* -1 where a term fits no signal at all; `columns`: none that a column can hold. */
int print_choice_make(struct print_choice *choice, const struct dbr_signal_terms *terms,
                      const struct dbr_definitions *definitions, bool columns,
                      struct dbr_error *error);

/* Whether the term at `index`, or any of them, means this signal. */
bool print_term_means(const struct print_choice *choice, size_t index,
                      const struct print_subject *subject);
bool print_choice_means(const struct print_choice *choice, const struct print_subject *subject);

/* Calls `each` for every signal in force, until it returns false. */
void print_each_subject(const struct dbr_definitions *definitions, bool columns,
                        bool (*each)(void *context, const struct print_subject *subject),
                        void *context);

#endif
