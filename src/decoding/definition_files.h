/* definition_files.h - the definition files of a directory. */
#ifndef DRAWBAR_DECODING_DEFINITION_FILES_H
#define DRAWBAR_DECODING_DEFINITION_FILES_H

#include "drawbar/error.h"

/*
 * Visits every *.json in a directory, in the order of names as bytes, until a visit
 * returns something else than 0, which is returned. No such file is an error.
 */
int definition_files(const char *directory,
                     int (*visit)(void *context, const char *path, struct dbr_error *error),
                     void *context, struct dbr_error *error);

#endif
