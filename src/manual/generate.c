/*
 * generate.c - fills the templates of the manual and of the completion from the tables of commands.
 *
 * Help, manual and completion say the same because all come from src/commands. A line of a
 * template that begins with "@" is replaced:
 *
 *     @OS                what stands below a page: program and version
 *     @COMMANDS          a list of the commands
 *     @SYNOPSIS check    how to call one
 *     @OPTIONS check     its options
 *     @ROLES             the roles that a signal may have
 *     @CASES             for the completion: options and their values, by command
 *
 * Usage: drawbar-manual TEMPLATE PAGE. A part of the build; it is not installed.
 */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands/commands.h"
#include "drawbar/definitions.h"

#define LINE_MAX_BYTES 1024u

/* Text as roff has it: no control line, a dash at the head of a word as it is typed. */
static void put_text(const char *text)
{
    if (*text == '.' || *text == '\'')
        fputs("\\&", stdout);
    for (const char *c = text; *c; c++) {
        bool head = c == text || c[-1] == ' ' || c[-1] == '-';
        if (*c == '\\')
            fputs("\\e", stdout);
        else if (*c == '-' && head)
            fputs("\\-", stdout);
        else
            putchar(*c);
    }
    putchar('\n');
}

static void put_commands(const struct command *none)
{
    (void)none;
    puts(".Bl -tag -width compare");
    for (size_t i = 0; i < command_count; i++) {
        printf(".It Xr drawbar-%s 1\n", commands[i].name);
        put_text(commands[i].summary);
    }
    puts(".El");
}

static bool is_option(const char *word)
{
    return word[0] == '-';
}

/* The arguments of the usage line: words, "..." behind one that may come again, [..] around one
 * that may be left out, and options. */
static void put_synopsis(const struct command *command)
{
    char words[LINE_MAX_BYTES];
    char *rest = words;

    snprintf(words, sizeof words, "%s", command->arguments);
    printf(".Nm \"drawbar %s\"\n.Op Ar option ...\n", command->name);
    for (char *word = strtok_r(words, " ", &rest); word; word = strtok_r(NULL, " ", &rest)) {
        size_t length = strcspn(word + (*word == '['), ".]");
        const char *more = strstr(word, "...") ? " ..." : "";
        if (*word == '[')
            printf(".Op Ar %.*s%s\n", (int)length, word + 1, more);
        else
            printf(".%s %.*s%s\n", is_option(word) ? "Fl" : "Ar", (int)length - is_option(word),
                   word + is_option(word), more);
    }
}

static void put_options(const struct command *command)
{
    puts(".Bl -tag -width Ds");
    for (const struct option_row *row = command->options; row->name; row++) {
        printf(".It Fl -%s%s%s\n", row->name, row->argument ? " Ar " : "",
               row->argument ? row->argument : "");
        put_text(row->help);
    }
    puts(".El");
}

/* What a value of an option may be: words to choose from, which are in small letters, else what
 * the help calls it, in capitals. */
static void put_values(const char *argument)
{
    if (!strchr(argument, '|')) {
        fputs(argument, stdout);
        return;
    }
    for (const char *c = argument; *c; c++)
        if (!isupper((unsigned char)*c))
            putchar(*c == '|' ? ' ' : *c);
}

static void put_cases(const struct command *none)
{
    (void)none;
    fputs("    '') commands='", stdout);
    for (size_t i = 0; i < command_count; i++)
        printf("%s ", commands[i].name);
    puts("help --help --version' ;;");
    for (size_t i = 0; i < command_count; i++) {
        printf("    %s) options='", commands[i].name);
        for (const struct option_row *row = commands[i].options; row->name; row++)
            printf("%s--%s", row == commands[i].options ? "" : " ", row->name);
        puts("'\n        case $2 in");
        for (const struct option_row *row = commands[i].options; row->name; row++) {
            if (!row->argument)
                continue;
            printf("        --%s) values='", row->name);
            put_values(row->argument);
            puts("' ;;");
        }
        puts("        esac ;;");
    }
}

static void put_roles(const struct command *none)
{
    (void)none;
    for (int role = DBR_ROLE_NONE + 1; role < DBR_ROLE_COUNT; role++)
        printf(".Cm %s%s\n", dbr_role_name((enum dbr_role)role),
               role + 1 < DBR_ROLE_COUNT ? " ," : " .");
}

static const struct directive {
    const char *name;
    bool of_command;
    void (*put)(const struct command *command);
} directives[] = {
    {"COMMANDS", false, put_commands},
    {"SYNOPSIS", true, put_synopsis},
    {"OPTIONS", true, put_options},
    {"ROLES", false, put_roles},
    {"CASES", false, put_cases},
};

static const struct command *find_command(const char *name)
{
    for (size_t i = 0; i < command_count; i++)
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
    return NULL;
}

/* `line` without "@" and line feed. False where nothing is called so. */
static bool direct(const char *line)
{
    size_t length = strcspn(line, " ");
    const struct command *command = line[length] ? find_command(line + length + 1) : NULL;

    if (strcmp(line, "OS") == 0) {
        printf(".Os Drawbar %s\n", DRAWBAR_VERSION);
        return true;
    }
    for (size_t i = 0; i < sizeof directives / sizeof directives[0]; i++) {
        const struct directive *d = &directives[i];
        if (strlen(d->name) != length || strncmp(d->name, line, length) != 0 ||
            d->of_command != (command != NULL))
            continue;
        d->put(command);
        return true;
    }
    return false;
}

static int fill(FILE *template, const char *path)
{
    char line[LINE_MAX_BYTES];
    int status = EXIT_SUCCESS;

    while (fgets(line, sizeof line, template)) {
        if (*line != '@') {
            fputs(line, stdout);
            continue;
        }
        line[strcspn(line, "\n")] = '\0';
        if (direct(line + 1))
            continue;
        fprintf(stderr, "%s: nothing is called %s\n", path, line);
        status = EXIT_FAILURE;
    }
    return status;
}

int main(int argc, char **argv)
{
    FILE *template = argc == 3 ? fopen(argv[1], "r") : NULL;

    if (!template || !freopen(argv[2], "w", stdout)) {
        if (template)
            fclose(template);
        fputs("usage: drawbar-manual TEMPLATE PAGE\n", stderr);
        return EXIT_FAILURE;
    }
    int status = fill(template, argv[1]);
    fclose(template);
    return fclose(stdout) == 0 ? status : EXIT_FAILURE;
}
