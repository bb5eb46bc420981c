/* report_files.h - the reports that a command line asks for: files, and the terminal. */
#ifndef DRAWBAR_COMMANDS_REPORT_FILES_H
#define DRAWBAR_COMMANDS_REPORT_FILES_H

#include "commands/analysis.h"

/* All of them, the page with close-ups where the recording can be read again. 0, or -1. */
int report_files(struct analysis *a, const struct request *r, const char *const *paths,
                 size_t count, struct dbr_error *error);

/* In place of a report at `path`: why there is none. */
int report_failure(const char *path, const struct dbr_upload_mark *upload, const char *reason,
                   struct dbr_error *error);

#endif
