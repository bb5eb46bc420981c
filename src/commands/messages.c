/*
 * messages.c - drawbar messages: the definitions in force, the proof of an author's own, and what
 * implements describe of themselves.
 */
#include <stdio.h>
#include <string.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "drawbar/definitions.h"
#include "drawbar/verify.h"
#include "text/clean.h"

const struct option_row messages_options[] = {
    {"verify", NULL, "prove FILE and DIR, or else the built-in ones: every mistake"},
    {"device", NULL, "FILE is a recording: what implements describe of themselves in it"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

static int load(struct dbr_definitions *definitions, const struct option_values *values,
                struct dbr_error *error)
{
    const char *directory = option_value(values, "definitions");

    if (directory && dbr_definitions_load_directory(definitions, directory, error) < 0)
        return -1;
    for (size_t i = 0; i < values->operand_count; i++)
        if (dbr_definitions_load_file(definitions, values->operands[i], error) < 0)
            return -1;
    return 0;
}

#define NAME_WIDTH 42 /* columns; a longer name pushes the rest of its line */

static void print_message(const struct dbr_message *message)
{
    static const char *const packing[] = {[DBR_PACKING_SINGLE] = "single",
                                          [DBR_PACKING_MULTI] = "multi",
                                          [DBR_PACKING_FAST] = "fast"};
    char name[256], file[256], period[24] = "-", length[16] = "any";

    if (message->period_ms > 0)
        snprintf(period, sizeof period, "%u ms", message->period_ms);
    if (message->length > 0)
        snprintf(length, sizeof length, "%u", message->length);
    printf("%6u  %-*s %9s %6s  %-7s %7zu  %s\n", message->pgn, NAME_WIDTH,
           clean_text(name, sizeof name, message->name), period, length,
           packing[message->packing], message->signal_count,
           clean_text(file, sizeof file, message->file));
}

static int list(const struct option_values *values)
{
    struct dbr_error error;
    struct dbr_definitions *definitions = dbr_definitions_new(&error);

    if (!definitions || load(definitions, values, &error) < 0) {
        complain_of(&error);
        dbr_definitions_free(definitions);
        return EXIT_UNUSABLE;
    }
    printf("%6s  %-*s %9s %6s  %-7s %7s  %s\n", "PGN", NAME_WIDTH, "name", "period", "bytes",
           "packing", "signals", "file");
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++)
        print_message(dbr_definitions_at(definitions, i));
    dbr_definitions_free(definitions);
    return EXIT_CLEAN;
}

/* The place and the reason; under them the line, and the caret. */
static void print_mistake(void *context, const struct dbr_error *mistake)
{
    (void)context;
    puts(mistake->text); /* harmless as it comes: drawbar/error.h */
}

static int verify_all(struct dbr_verify *verify, const struct option_values *values,
                      struct dbr_error *error)
{
    const char *directory = option_value(values, "definitions");

    if (directory && dbr_verify_directory(verify, directory, error) < 0)
        return -1;
    for (size_t i = 0; i < values->operand_count; i++)
        if (dbr_verify_file(verify, values->operands[i], error) < 0)
            return -1;
    return directory || values->operand_count > 0 ? 0 : dbr_verify_builtin(verify, error);
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

static int sum_up(const struct dbr_verify_counts *counts)
{
    printf("%zu message%s, %zu signal%s, %zu example%s: ", counts->messages,
           plural(counts->messages), counts->signals, plural(counts->signals), counts->examples,
           plural(counts->examples));
    if (counts->mistakes == 0)
        printf("sound\n");
    else
        printf("%zu mistake%s\n", counts->mistakes, plural(counts->mistakes));
    if (counts->untold > 0)
        printf("%zu of the mistakes are not shown; they may follow from those above\n",
               counts->untold);
    return counts->mistakes == 0 ? EXIT_CLEAN : EXIT_FOUND;
}

static int verify(const struct option_values *values)
{
    struct dbr_error error;
    struct dbr_verify *run = dbr_verify_new(print_mistake, NULL, &error);

    if (!run || verify_all(run, values, &error) < 0) {
        complain_of(&error);
        dbr_verify_free(run);
        return EXIT_UNUSABLE;
    }
    int status = sum_up(dbr_verify_counts(run));
    dbr_verify_free(run);
    return status;
}

/* Several files are one recording, as everywhere. */
static int describe(const struct option_values *values)
{
    struct request request;
    struct analysis analysis = {0};
    struct dbr_error error;
    int status = EXIT_CLEAN;

    if (values->operand_count == 0)
        return complain("--device: which recording?");
    if (request_read(values, &request) < 0)
        return EXIT_UNUSABLE;
    if (analysis_run(&analysis, &request, values->operands, values->operand_count, &error) < 0 ||
        dbr_report_devices(stdout, &analysis.report, &error) < 0)
        status = complain_of(&error);
    analysis_release(&analysis);
    return status;
}

int command_messages(const struct option_values *values)
{
    if (option_given(values, "verify") && option_given(values, "device"))
        return complain("--verify and --device: one of them");
    if (option_given(values, "device"))
        return describe(values);
    return option_given(values, "verify") ? verify(values) : list(values);
}
