/*
 * compare.h - did the repair hold? Two diagnoses, finding by finding.
 *
 * A finding of the recording before is gone, still there, or the recording after
 * cannot tell: it never drove, never worked, was too short, holds no error frames,
 * or lacks the ECU, its claim or its values. Only what it could have shown counts
 * as gone. What is still there may weigh more than before, or less: a row has both.
 */
#ifndef DRAWBAR_COMPARE_H
#define DRAWBAR_COMPARE_H

#include <stdbool.h>
#include <stddef.h>

#include "drawbar/api.h"
#include "drawbar/diagnosis.h"

DBR_API_BEGIN

enum dbr_change { DBR_CHANGE_GONE, DBR_CHANGE_STILL, DBR_CHANGE_NEW, DBR_CHANGE_CANNOT_TELL };

/* One side: a recording and what was made of it. */
struct dbr_side {
    const struct dbr_recording_info *info;
    const struct dbr_history *history;
    const struct dbr_diagnosis *diagnosis;
};

struct dbr_comparison_row {
    enum dbr_change change;
    const struct dbr_finding *before, *after; /* NULL where there is none */
    const char *why; /* for CANNOT_TELL: what the recording after lacks; static storage */
};

struct dbr_comparison {
    struct dbr_side before, after;
    size_t row_count;
    struct dbr_comparison_row *rows; /* findings at fault or warning level, worst first */
    bool repaired; /* every fault of before is gone, and none is new, nor was a warning before */
};

/* NULL on failure (out of memory). The sides must outlive the comparison. */
struct dbr_comparison *dbr_comparison_new(const struct dbr_side *before,
                                          const struct dbr_side *after, struct dbr_error *error);
void dbr_comparison_free(struct dbr_comparison *comparison);

/* "gone", "still", "new", "cannot_tell". Static storage. */
const char *dbr_change_name(enum dbr_change change);

DBR_API_END

#endif
