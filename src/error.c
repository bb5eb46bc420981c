/* error.c - see drawbar/error.h. */
#include "drawbar/error.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "text/clean.h"

#define WHOLE_MAX 9216u /* two paths of 4096 bytes, and what is said about them */
#define HEAD_MAX 256u   /* bytes kept of the start of a text that is too long */
#define ELLIPSIS "..."

static bool continues(char c)
{
    return ((unsigned char)c & 0xC0u) == 0x80u; /* RFC 3629: 10xxxxxx */
}

/* Of a text that is too long both ends stay: who it is about, and what is wrong. */
static void keep_ends(char out[DBR_ERROR_TEXT_SIZE], const char *text)
{
    size_t length = strlen(text), head = HEAD_MAX, mark = sizeof ELLIPSIS - 1;

    if (length < DBR_ERROR_TEXT_SIZE) {
        memcpy(out, text, length + 1);
        return;
    }
    while (continues(text[head]))
        head--;
    const char *tail = text + length - (DBR_ERROR_TEXT_SIZE - 1 - head - mark);
    while (continues(*tail))
        tail++;
    memcpy(out, text, head);
    memcpy(out + head, ELLIPSIS, mark);
    memcpy(out + head + mark, tail, strlen(tail) + 1);
}

int dbr_error_set(struct dbr_error *error, enum dbr_error_code code, const char *format, ...)
{
    char text[WHOLE_MAX], clean[WHOLE_MAX * CLEAN_GROWTH];
    va_list arguments;

    if (!error)
        return -1;
    error->code = code;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    keep_ends(error->text, clean_text(clean, sizeof clean, text));
    return -1;
}

int dbr_error_quote(struct dbr_error *error, const char *line, size_t column)
{
    char quoted[DBR_ERROR_TEXT_SIZE];
    size_t used = error ? strlen(error->text) : 0;

    clean_text(quoted, sizeof quoted, line);
    size_t needed = 1 + strlen(quoted) + 1 + column + 1;
    if (error && used + needed < sizeof error->text)
        snprintf(error->text + used, sizeof error->text - used, "\n%s\n%*s^", quoted, (int)column,
                 "");
    return -1;
}
