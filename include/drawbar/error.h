/*
 * error.h - how the library says that something cannot go on.
 *
 * A function that can fail returns 0 (or a count) on success and -1 on
 * failure, and fills a struct dbr_error that its caller owns. The library never
 * prints and never exits: it returns what a person needs to act on, that is a
 * code for programs and one line of text with the place (file, line or packet)
 * for people. The text starts in lower case and ends without a full stop.
 *
 *     struct dbr_error error;
 *     if (dbr_recording_open(&recording, paths, count, &options, &error) < 0)
 *         fprintf(stderr, "drawbar: %s\n", error.text);
 */
#ifndef DRAWBAR_ERROR_H
#define DRAWBAR_ERROR_H

#include <stddef.h>

#include "drawbar/api.h"

DBR_API_BEGIN

enum dbr_error_code {
    DBR_ERROR_NONE,
    DBR_ERROR_MEMORY, /* out of memory */
    DBR_ERROR_OPEN,   /* a file cannot be opened */
    DBR_ERROR_READ,   /* or not be read */
    DBR_ERROR_WRITE,  /* or not be written */
    DBR_ERROR_EMPTY,  /* it holds nothing */
    DBR_ERROR_FORMAT, /* it is no recording */
    DBR_ERROR_SYNTAX, /* it is not valid JSON */
    DBR_ERROR_SCHEMA, /* it breaks the schema of rigs or definitions */
    DBR_ERROR_USAGE,  /* what was asked for makes no sense, here or with this recording */
    DBR_ERROR_LIMIT   /* a ceiling of limits.h is exceeded */
};

/* Long enough for a path, a place, a reason, and the quoted line with its caret. */
#define DBR_ERROR_TEXT_SIZE 1024

struct dbr_error {
    enum dbr_error_code code;
    char text[DBR_ERROR_TEXT_SIZE]; /* NUL-terminated; line feeds only before a quoted line, a caret */
};

/*
 * Sets `error` and returns -1, so that a failing function can end with
 * `return dbr_error_set(...)`. `error` may be NULL: then nobody wants to know.
 * The text may hold what strangers wrote, as names of files: whatever could steer a
 * terminal, hide or pass for a line of its own becomes U+FFFD. Of a text that is too
 * long the middle is left out.
 */
int dbr_error_set(struct dbr_error *error, enum dbr_error_code code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/*
 * Adds the line that an error is about and, `column` columns from its start, a caret under the
 * place; nothing where there is no room for both. The line is made harmless. Returns -1.
 */
int dbr_error_quote(struct dbr_error *error, const char *line, size_t column);

DBR_API_END

#endif
