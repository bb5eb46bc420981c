/* second_pass.h - reads a recording again, to look closely at what was found in it. */
#ifndef DRAWBAR_COMMANDS_SECOND_PASS_H
#define DRAWBAR_COMMANDS_SECOND_PASS_H

#include "commands/analysis.h"
#include "drawbar/closeup.h"

/*
 * Close-ups of the findings of an analysis, which must outlive them. `*closeups` is NULL where
 * there is nothing to look at, or where a part of the recording is no file but a stream
 * (standard input, a pipe) and is gone. 0, or -1 where it cannot be read again.
 */
int second_pass(struct dbr_closeups **closeups, const struct analysis *a, const struct request *r,
                const char *const *paths, size_t count, struct dbr_error *error);

#endif
