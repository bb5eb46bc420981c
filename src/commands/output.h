/*
 * output.h - where a command writes: standard output, or a file that appears whole or not at all.
 */
#ifndef DRAWBAR_COMMANDS_OUTPUT_H
#define DRAWBAR_COMMANDS_OUTPUT_H

#include <stdbool.h>
#include <stdio.h>

#include "drawbar/error.h"

struct output {
    FILE *file;
    const char *path; /* "-": standard output */
    char *temporary;  /* beside `path`, until it is whole */
};

/* Whether writing to `path` would replace the file `other`. */
bool output_would_replace(const char *path, const char *other);

/* Opens a temporary file beside `path`. */
int output_open(struct output *o, const char *path, struct dbr_error *error);

/* The file gets its name; on failure it is removed. */
int output_commit(struct output *o, struct dbr_error *error);

/* Where what should be written failed: removes what was written; -1. The path stands before the
 * reason where writing itself failed. */
int output_fail(struct output *output, struct dbr_error *error);

/* Removes what was written. */
void output_abandon(struct output *o);

#endif
