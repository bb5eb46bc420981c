/*
 * commands.c - the table of commands, their help, and the way to them.
 *
 * To add one: write src/commands/NAME.c with its options and its run function,
 * declare both in commands.h, add a row here, and cases to tests/command. A test
 * asks every command of this table for --help and compares the README with it.
 */
#include "commands/commands.h"

#include <errno.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "commands/interrupt.h"
#include "text/clean.h"

#define COMPLAINT_MAX 9216u /* two paths of 4096 bytes, and what is said about them */

const struct command commands[] = {
    {"check", "RECORDING...", "what is wrong, since when, and what to check next", check_options,
     command_check},
    {"compare", "BEFORE AFTER", "did the repair hold? what is gone, still there, new",
     compare_options, command_compare},
    {"print", "RECORDING...", "decoded messages, a line each: text, csv or ndjson", print_options,
     command_print},
    {"cut", "RECORDING... -o OUT", "the part that shows the fault, as a smaller recording",
     cut_options, command_cut},
    {"inbox", "DIR --out SITE", "every upload in a folder: an index page, a report each",
     inbox_options, command_inbox},
    {"messages", "[FILE...]", "the message definitions in force; FILE adds to them",
     messages_options, command_messages},
};

const size_t command_count = sizeof commands / sizeof commands[0];

int complain(const char *format, ...)
{
    char text[COMPLAINT_MAX], clean[COMPLAINT_MAX * CLEAN_GROWTH + 1];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    fprintf(stderr, "drawbar: %s\n", clean_text(clean, sizeof clean, text));
    return EXIT_UNUSABLE;
}

/* Its text is harmless, and the line feeds in it are the library's own. */
int complain_of(const struct dbr_error *error)
{
    fprintf(stderr, "drawbar: %s\n", error->text);
    return EXIT_UNUSABLE;
}

static void print_overview(FILE *out)
{
    fputs("Drawbar reads a recording of the CAN traffic between a tractor and its\n"
          "implement and says what went wrong, when, where, and what to check next.\n\n"
          "usage: drawbar COMMAND [OPTION...] [ARGUMENT...]\n\n",
          out);
    for (size_t i = 0; i < command_count; i++)
        fprintf(out, "  %-10s %-19s %s\n", commands[i].name, commands[i].arguments,
                commands[i].summary);
    fputs("\n  --help     of the program or of a command\n"
          "  --version\n\n"
          "Exit status: 0 nothing at fault or warning level, 1 something found, 2 the\n"
          "command or its input was unusable.\n",
          out);
}

static void print_help(FILE *out, const struct command *command)
{
    char left[64];

    fprintf(out, "usage: drawbar %s [OPTION...] %s\n%s\n\n", command->name, command->arguments,
            command->summary);
    for (const struct option_row *row = command->options; row->name; row++) {
        snprintf(left, sizeof left, "--%s%s%s", row->name, row->argument ? " " : "",
                 row->argument ? row->argument : "");
        fprintf(out, "  %-27s %s\n", left, row->help);
    }
}

static const struct command *find_command(const char *name)
{
    for (size_t i = 0; i < command_count; i++)
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
    return NULL;
}

static int run_command(const struct command *command, int argc, char **argv)
{
    struct option_values values;

    if (options_read(&values, command->options, argc, argv) < 0)
        return EXIT_UNUSABLE;
    if (option_given(&values, "help")) {
        print_help(stdout, command);
        return EXIT_CLEAN;
    }
    return command->run(&values);
}

static int run_help(const char *name)
{
    const struct command *command = name ? find_command(name) : NULL;

    if (name && !command)
        return complain("no help on %s; drawbar --help lists the commands", name);
    if (command)
        print_help(stdout, command);
    else
        print_overview(stdout);
    return EXIT_CLEAN;
}

/* What stands in a command's place but is none. `next` may be NULL. */
static int run_other(const char *word, const char *next)
{
    if (strcmp(word, "--help") == 0 || strcmp(word, "help") == 0)
        return run_help(next);
    if (strcmp(word, "--version") == 0) {
        printf("drawbar %s\n", DRAWBAR_VERSION);
        return EXIT_CLEAN;
    }
    if (word[0] == '-')
        return complain("unknown option %s; drawbar --help tells how to use it", word);
    return complain("unknown command %s; drawbar --help lists the commands", word);
}

int commands_main(int argc, char **argv)
{
    /* Whoever stops reading stops the program, even where the parent had this signal ignored. */
    signal(SIGPIPE, SIG_DFL);
    interrupt_start();
    /* A file beyond the limit of its size is a failed write, which cleans up after itself. */
    signal(SIGXFSZ, SIG_IGN);
    if (argc < 2)
        return complain("which command? drawbar --help lists them");
    const struct command *command = find_command(argv[1]);
    int status = command ? run_command(command, argc - 2, argv + 2)
                         : run_other(argv[1], argc > 2 ? argv[2] : NULL);
    /* Help and lists; a report has been checked where it was written. */
    errno = 0;
    if (status != EXIT_UNUSABLE && (fflush(stdout) != 0 || ferror(stdout)))
        return complain("standard output cannot be written: %s",
                        errno ? strerror(errno) : "write error");
    return status;
}
