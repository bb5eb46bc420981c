/* print_choice.h - which signals are meant by the terms that a person gave. */
#ifndef DRAWBAR_REPORTING_PRINT_CHOICE_H
#define DRAWBAR_REPORTING_PRINT_CHOICE_H

#include "drawbar/identity.h"
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

/*
 * Signals without a fixed place, which no definition can hold: trouble codes (print_troubles.h)
 * and what ECUs tell of themselves in texts (print_told.h). A message may have several of one.
 */
enum print_apart {
    PRINT_APART_CODE,
    PRINT_APART_ORDER, /* of DM13 */
    PRINT_APART_ECU, /* the first text of each group; the others follow it */
    PRINT_APART_COMPONENT = PRINT_APART_ECU + DBR_ECU_HARDWARE + 1,
    PRINT_APART_PRODUCT = PRINT_APART_COMPONENT + DBR_COMPONENT_UNIT + 1,
    PRINT_APART_INFORMATION = PRINT_APART_PRODUCT + DBR_PRODUCT_MODEL + 1,
    PRINT_APART_SOFTWARE = PRINT_APART_INFORMATION + DBR_INFORMATION_SERIAL + 1,
    PRINT_APART_FUNCTIONALITY,
    PRINT_APART_COUNT
};

extern const struct print_subject print_apart_subjects[PRINT_APART_COUNT];

struct print_choice {
    const struct dbr_signal_terms *terms;
    bool whole[DBR_PRINT_TERMS_MAX]; /* the term is a whole name: it means no others */
};

/* -1 where a term fits no signal at all. */
int print_choice_make(struct print_choice *choice, const struct dbr_signal_terms *terms,
                      const struct dbr_definitions *definitions, struct dbr_error *error);

/* Whether the term at `index`, or any of them, means this signal. */
bool print_term_means(const struct print_choice *choice, size_t index,
                      const struct print_subject *subject);
bool print_choice_means(const struct print_choice *choice, const struct print_subject *subject);

/* Calls `each` for every signal in force, until it returns false. */
void print_each_subject(const struct dbr_definitions *definitions,
                        bool (*each)(void *context, const struct print_subject *subject),
                        void *context);

#endif
