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

/* One list yields the codes and their names. */
#define DBR_ERROR_CODES(X)                                                                         \
    X(NONE, "none")                                                                                \
    X(MEMORY, "out of memory")                                                                     \
    X(OPEN, "cannot be opened")                                                                    \
    X(READ, "cannot be read")                                                                      \
    X(WRITE, "cannot be written")                                                                  \
    X(EMPTY, "holds nothing")                                                                      \
    X(FORMAT, "is not a recording")                                                                \
    X(SYNTAX, "is not valid JSON")                                                                 \
    X(SCHEMA, "breaks the schema")                                                                 \
    X(USAGE, "was called wrongly")                                                                 \
    X(LIMIT, "exceeds a limit")

enum dbr_error_code {
#define DBR_ERROR_ENUM(name, words) DBR_ERROR_##name,
    DBR_ERROR_CODES(DBR_ERROR_ENUM)
#undef DBR_ERROR_ENUM
};

/* Long enough for a path, a place, a reason, and the quoted line with its caret. */
#define DBR_ERROR_TEXT_SIZE 1024

struct dbr_error {
    enum dbr_error_code code;
    char text[DBR_ERROR_TEXT_SIZE]; /* NUL-terminated; may hold line feeds (quoted line, caret) */
};

/*
 * Sets `error` and returns -1, so that a failing function can end with
 * `return dbr_error_set(...)`. `error` may be NULL: then nobody wants to know.
 */
int dbr_error_set(struct dbr_error *error, enum dbr_error_code code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The words of a code, for messages about a code without its text. Static storage. */
const char *dbr_error_words(enum dbr_error_code code);

#endif
