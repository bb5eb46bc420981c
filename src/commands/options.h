/*
 * options.h - options of a command, read by its table.
 *
 * Options are long ones, "--name", "--name VALUE" or "--name=VALUE"; "--" ends
 * them. All else are operands, "-" among them. "-o" is short for "--output" where a
 * command has that.
 */
#ifndef DRAWBAR_COMMANDS_OPTIONS_H
#define DRAWBAR_COMMANDS_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#define OPTIONS_MAX 16u

struct option_row {
    const char *name;     /* without the dashes; NULL ends the table */
    const char *argument; /* what it takes, as in the help; NULL: nothing */
    const char *help;     /* one line */
};

/* What stood on the command line. Points into argv. */
struct option_values {
    const struct option_row *rows;
    bool given[OPTIONS_MAX];
    const char *values[OPTIONS_MAX]; /* in the order of rows; NULL where not given */
    const char **operands;           /* in the front of argv's own memory */
    size_t operand_count;
};

/* Reads argv[0..argc). Returns 0, or -1 after it complained. */
int options_read(struct option_values *values, const struct option_row *rows, int argc,
                 char **argv);

/* The value of an option; NULL where it is not given, or the command has no such option. */
const char *option_value(const struct option_values *values, const char *name);
bool option_given(const struct option_values *values, const char *name);

#endif
