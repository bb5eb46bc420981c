/*
 * verify.h - proves definition files, as their author would want it.
 *
 * Loading stops at what cannot be used. Verifying tells every mistake, each with its
 * place, and knows more kinds of them: a message without an example, an example that
 * does not hold, a range that the bits cannot carry, a scale on a signal whose role is
 * judged by its raw value, one group defined in two files.
 *
 *     verify = dbr_verify_new(print_it, NULL, &error);
 *     dbr_verify_file(verify, "belt.json", &error);
 *     sound = dbr_verify_counts(verify)->mistakes == 0;
 *     dbr_verify_free(verify);
 */
#ifndef DRAWBAR_VERIFY_H
#define DRAWBAR_VERIFY_H

#include <stddef.h>

#include "drawbar/api.h"
#include "drawbar/error.h"

DBR_API_BEGIN

struct dbr_verify_counts {
    size_t messages; /* groups; a range counts each */
    size_t signals, examples; /* as they stand in the files; a range counts once */
    size_t mistakes; /* all */
    size_t untold;   /* of them, those beyond DBR_MISTAKES_TOLD_MAX in their file */
};

struct dbr_verify;

/* `mistake` hears of each; its text is that of an error, with place, line and caret. */
struct dbr_verify *dbr_verify_new(void (*mistake)(void *context, const struct dbr_error *mistake),
                                  void *context, struct dbr_error *error);
void dbr_verify_free(struct dbr_verify *verify);

/*
 * What to verify. Files that are verified together are used together. -1 only where a
 * file cannot be read or memory is short; mistakes are told and counted instead.
 */
int dbr_verify_text(struct dbr_verify *verify, const char *path, const char *text, size_t length,
                    struct dbr_error *error);
int dbr_verify_file(struct dbr_verify *verify, const char *path, struct dbr_error *error);
int dbr_verify_directory(struct dbr_verify *verify, const char *path, struct dbr_error *error);
int dbr_verify_builtin(struct dbr_verify *verify, struct dbr_error *error);

const struct dbr_verify_counts *dbr_verify_counts(const struct dbr_verify *verify);

DBR_API_END

#endif
