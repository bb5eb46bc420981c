/* whole_file.c - see whole_file.h. */
#include "decoding/whole_file.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/limits.h"

char *whole_file(const char *path, size_t *length, struct dbr_error *error)
{
    FILE *file = fopen(path, "rb");
    char *text = file ? malloc(DBR_DEFINITION_FILE_MAX + 1) : NULL;

    if (!file || !text) {
        dbr_error_set(error, file ? DBR_ERROR_MEMORY : DBR_ERROR_OPEN, "%s: %s", path,
                      file ? "out of memory" : strerror(errno));
        if (file)
            fclose(file);
        return NULL;
    }
    *length = fread(text, 1, DBR_DEFINITION_FILE_MAX + 1, file);
    bool failed = ferror(file) != 0;
    int reason = errno;
    fclose(file);
    if (!failed && *length <= DBR_DEFINITION_FILE_MAX)
        return text;
    if (failed)
        dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read: %s", path, strerror(reason));
    else
        dbr_error_set(error, DBR_ERROR_LIMIT, "%s: is larger than %u bytes", path,
                      DBR_DEFINITION_FILE_MAX);
    free(text);
    return NULL;
}
