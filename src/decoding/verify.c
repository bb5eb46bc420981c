/* verify.c - see drawbar/verify.h. The loader does it, told to be strict. */
#include "drawbar/verify.h"

#include <stdlib.h>

#include "decoding/definition_files.h"
#include "decoding/loader.h"
#include "decoding/whole_file.h"

struct dbr_verify {
    void (*mistake)(void *context, const struct dbr_error *mistake);
    void *context;
    struct dbr_definitions *definitions; /* the sound files so far, and no built-in ones */
    struct dbr_verify_counts counts;
};

struct dbr_verify *dbr_verify_new(void (*mistake)(void *context, const struct dbr_error *mistake),
                                  void *context, struct dbr_error *error)
{
    struct dbr_verify *verify = calloc(1, sizeof *verify);
    struct dbr_definitions *definitions = calloc(1, sizeof *definitions);

    if (!verify || !definitions) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        free(verify);
        free(definitions);
        return NULL;
    }
    verify->mistake = mistake;
    verify->context = context;
    verify->definitions = definitions;
    return verify;
}

void dbr_verify_free(struct dbr_verify *verify)
{
    if (!verify)
        return;
    dbr_definitions_free(verify->definitions);
    free(verify);
}

int dbr_verify_text(struct dbr_verify *verify, const char *path, const char *text, size_t length,
                    struct dbr_error *error)
{
    struct loader l = {.reader = {.error = error,
                                  .mistake = verify->mistake,
                                  .context = verify->context},
                       .definitions = verify->definitions,
                       .strict = true};

    loader_run(&l, path, text, length);
    if (l.exhausted)
        return -1;
    verify->counts.messages += l.messages;
    verify->counts.signals += l.signals;
    verify->counts.examples += l.examples;
    verify->counts.mistakes += l.reader.mistakes;
    if (l.reader.mistakes > DBR_MISTAKES_TOLD_MAX)
        verify->counts.untold += l.reader.mistakes - DBR_MISTAKES_TOLD_MAX;
    return 0;
}

int dbr_verify_file(struct dbr_verify *verify, const char *path, struct dbr_error *error)
{
    size_t length;
    char *text = whole_file(path, &length, error);

    if (!text)
        return -1;
    int result = dbr_verify_text(verify, path, text, length, error);
    free(text);
    return result;
}

static int visit(void *context, const char *path, struct dbr_error *error)
{
    return dbr_verify_file(context, path, error);
}

int dbr_verify_directory(struct dbr_verify *verify, const char *path, struct dbr_error *error)
{
    return definition_files(path, visit, verify, error);
}

int dbr_verify_builtin(struct dbr_verify *verify, struct dbr_error *error)
{
    for (size_t i = 0; i < builtin_file_count; i++)
        if (dbr_verify_text(verify, builtin_files[i].name, builtin_files[i].text,
                            builtin_files[i].length, error) < 0)
            return -1;
    return 0;
}

const struct dbr_verify_counts *dbr_verify_counts(const struct dbr_verify *verify)
{
    return &verify->counts;
}
