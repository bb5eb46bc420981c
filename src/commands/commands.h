/*
 * commands.h - the commands of drawbar: one file each, one table (commands.c).
 *
 * Here, and only here, the program speaks: errors go to standard error as one
 * line that begins with "drawbar: ".
 */
#ifndef DRAWBAR_COMMANDS_COMMANDS_H
#define DRAWBAR_COMMANDS_COMMANDS_H

#include <stddef.h>

#include "commands/options.h"
#include "drawbar/error.h"

/* Exit status, as the README states it. */
enum exit_status { EXIT_CLEAN = 0, EXIT_FOUND = 1, EXIT_UNUSABLE = 2 };

struct command {
    const char *name;
    const char *arguments; /* as in the usage line */
    const char *summary;   /* one line */
    const struct option_row *options; /* ends with a row without a name */
    int (*run)(const struct option_values *values);
};

extern const struct command commands[];
extern const size_t command_count;

extern const struct option_row check_options[];
extern const struct option_row compare_options[];
extern const struct option_row cut_options[];
extern const struct option_row inbox_options[];
extern const struct option_row messages_options[];
extern const struct option_row print_options[];

int command_check(const struct option_values *values);
int command_compare(const struct option_values *values);
int command_cut(const struct option_values *values);
int command_inbox(const struct option_values *values);
int command_messages(const struct option_values *values);
int command_print(const struct option_values *values);

/* Runs the program: main without its process. */
int commands_main(int argc, char **argv);

/*
 * Says what is wrong in one line on standard error; whatever strangers wrote in it, as names of
 * files, is cleaned. Returns EXIT_UNUSABLE.
 */
int complain(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* The same of an error of the library, with the line that it quotes and the caret under it. */
int complain_of(const struct dbr_error *error);

#endif
