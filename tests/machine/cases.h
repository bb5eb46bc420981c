/* cases.h - what is played on the failing machine, and which failures may go without a word. */
#ifndef TESTS_MACHINE_CASES_H
#define TESTS_MACHINE_CASES_H

#include "machine/faults.h"

#define CASE_ARGUMENTS_MAX 14
#define CASE_OLD_MAX 3

/* A command line, in a folder with the inputs in in/ and an empty out/. */
struct machine_case {
    const char *name;
    const char *arguments[CASE_ARGUMENTS_MAX];
    const char *old[CASE_OLD_MAX]; /* files of an earlier run, to be replaced whole or not at all */
    bool whole_definitions; /* also fails what happens while built-in definitions are read */
};

extern const struct machine_case machine_cases[];
extern const size_t machine_case_count;

/* A call whose failure changes nothing, or not what the command says, and why that is right. */
struct machine_exception {
    const char *command;  /* the case's name begins so; "" is any */
    enum fault_kind kind;
    const char *function; /* NULL: any */
    const char *reason;
};

const struct machine_exception *machine_exception(const struct machine_case *c,
                                                  enum fault_kind kind, const char *function);

#endif
