/* messages.c - drawbar messages: the definitions in force. */
#include <stdio.h>

#include "commands/commands.h"
#include "drawbar/definitions.h"

const struct option_row messages_options[] = {
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

static void print_message(const struct dbr_message *message)
{
    char period[24] = "";

    if (message->period_ms > 0)
        snprintf(period, sizeof period, "%u ms", message->period_ms);
    printf("%6u  %-44s %8s  %2zu signals  %s\n", message->pgn, message->name, period,
           message->signal_count, message->file);
}

int command_messages(const struct option_values *values)
{
    struct dbr_error error;
    struct dbr_definitions *definitions = dbr_definitions_new(&error);

    if (!definitions || load(definitions, values, &error) < 0) {
        complain("%s", error.text);
        dbr_definitions_free(definitions);
        return EXIT_UNUSABLE;
    }
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++)
        print_message(dbr_definitions_at(definitions, i));
    dbr_definitions_free(definitions);
    return EXIT_CLEAN;
}
