/* error.c - see drawbar/error.h. */
#include "drawbar/error.h"

#include <stdarg.h>
#include <stdio.h>

int dbr_error_set(struct dbr_error *error, enum dbr_error_code code, const char *format, ...)
{
    va_list arguments;

    if (!error)
        return -1;
    error->code = code;
    va_start(arguments, format);
    vsnprintf(error->text, sizeof error->text, format, arguments);
    va_end(arguments);
    return -1;
}
