/* cut_around.h - the pieces of time around findings. */
#ifndef DRAWBAR_COMMANDS_CUT_AROUND_H
#define DRAWBAR_COMMANDS_CUT_AROUND_H

#include "commands/analysis.h"
#include "drawbar/excerpt.h"

struct around {
    const char *what;  /* a code, or "all": faults and warnings */
    int64_t margin_ns; /* before and after */
    size_t window_count;
    struct dbr_window windows[DBR_WINDOWS_MAX];
};

/* Whether `what` is a code that exists, or "all". */
bool around_is_known(const char *what);

/* Checks the recording, and gathers a window at the start and the end of each finding. -1: as
 * analysis_run; nothing was found; there is no time, or more findings than windows. */
int around_find(struct around *around, struct request *request, struct dbr_error *error);

#endif
