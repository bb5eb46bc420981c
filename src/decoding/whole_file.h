/* whole_file.h - a small file (definitions, rig) in memory. */
#ifndef DRAWBAR_DECODING_WHOLE_FILE_H
#define DRAWBAR_DECODING_WHOLE_FILE_H

#include <stddef.h>

#include "drawbar/error.h"

/* The content of a file up to DBR_DEFINITION_FILE_MAX bytes, which the caller frees; NULL after an
 * error. */
char *whole_file(const char *path, size_t *length, struct dbr_error *error);

#endif
