/* options.c - see options.h. */
#include "commands/options.h"

#include <string.h>

#include "commands/commands.h"

/* Levenshtein's distance is at most this between what was typed and what was meant. */
#define NEAR_ENOUGH 2u
#define WORD_MAX 32u

/* How many letters must be changed, put in or left out (Levenshtein 1966). */
static unsigned distance(const char *a, size_t a_length, const char *b)
{
    unsigned row[WORD_MAX + 1];
    size_t b_length = strlen(b);

    if (a_length > WORD_MAX || b_length > WORD_MAX)
        return WORD_MAX;
    for (size_t j = 0; j <= b_length; j++)
        row[j] = (unsigned)j;
    for (size_t i = 1; i <= a_length; i++) {
        unsigned diagonal = row[0];
        row[0] = (unsigned)i;
        for (size_t j = 1; j <= b_length; j++) {
            unsigned change = diagonal + (a[i - 1] != b[j - 1]);
            unsigned shift = (row[j] < row[j - 1] ? row[j] : row[j - 1]) + 1;
            diagonal = row[j];
            row[j] = change < shift ? change : shift;
        }
    }
    return row[b_length];
}

static const char *nearest(const struct option_row *rows, const char *name, size_t length)
{
    const char *best = NULL;
    unsigned least = NEAR_ENOUGH + 1;

    for (; rows->name; rows++) {
        unsigned d = distance(name, length, rows->name);
        if (d < least) {
            least = d;
            best = rows->name;
        }
    }
    return best;
}

static int unknown_option(const struct option_row *rows, const char *name, size_t length)
{
    const char *meant = nearest(rows, name, length);

    if (meant)
        complain("unknown option --%.*s; did you mean --%s?", (int)length, name, meant);
    else
        complain("unknown option --%.*s; --help lists those that exist", (int)length, name);
    return -1;
}

/* The one short option: compilers and many more tools know it. */
static bool is_short_output(const char *word)
{
    return strcmp(word, "-o") == 0;
}

/* One option at argv[*at]; moves on over a value that stands apart. */
static int read_option(struct option_values *values, int argc, char **argv, int *at)
{
    const char *name = is_short_output(argv[*at]) ? "output" : argv[*at] + 2;
    const char *equals = strchr(name, '=');
    size_t length = equals ? (size_t)(equals - name) : strlen(name);
    size_t i = 0;

    while (values->rows[i].name && (strlen(values->rows[i].name) != length ||
                                    strncmp(values->rows[i].name, name, length) != 0))
        i++;
    const struct option_row *row = &values->rows[i];
    if (!row->name)
        return unknown_option(values->rows, name, length);
    if (values->given[i]) {
        complain("--%s is given twice", row->name);
        return -1;
    }
    values->given[i] = true;
    if (!row->argument && equals) {
        complain("--%s takes no value", row->name);
        return -1;
    }
    if (!row->argument)
        return 0;
    values->values[i] = equals ? equals + 1 : *at + 1 < argc ? argv[++*at] : NULL;
    if (values->values[i] && values->values[i][0] != '\0')
        return 0;
    complain("--%s needs a value: %s", row->name, row->argument);
    return -1;
}

/* The row of an option; -1 where the command has none of that name. */
static int find_row(const struct option_values *values, const char *name)
{
    for (int i = 0; values->rows[i].name; i++)
        if (strcmp(values->rows[i].name, name) == 0)
            return i;
    return -1;
}

int options_read(struct option_values *values, const struct option_row *rows, int argc,
                 char **argv)
{
    bool ended = false;

    *values = (struct option_values){.rows = rows, .operands = (const char **)argv};
    for (int i = 0; i < argc; i++) {
        if (!ended && strcmp(argv[i], "--") == 0) {
            ended = true;
        } else if (!ended && (strncmp(argv[i], "--", 2) == 0 ||
                              (is_short_output(argv[i]) && find_row(values, "output") >= 0))) {
            if (read_option(values, argc, argv, &i) < 0)
                return -1;
        } else if (!ended && argv[i][0] == '-' && argv[i][1] != '\0') {
            complain("unknown option %s; options are long ones, --help lists them", argv[i]);
            return -1;
        } else {
            values->operands[values->operand_count++] = argv[i];
        }
    }
    return 0;
}

const char *option_value(const struct option_values *values, const char *name)
{
    int row = find_row(values, name);
    return row < 0 ? NULL : values->values[row];
}

bool option_given(const struct option_values *values, const char *name)
{
    int row = find_row(values, name);
    return row >= 0 && values->given[row];
}
