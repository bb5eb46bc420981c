/*
 * reporting.h - the findings for people and for programs.
 *
 * A report is written to a stdio stream that the caller owns. The forms stand in
 * one table, src/reporting/reports.c.
 */
#ifndef DRAWBAR_REPORTING_H
#define DRAWBAR_REPORTING_H

#include <stdio.h>

#include "drawbar/analysis.h"
#include "drawbar/api.h"
#include "drawbar/closeup.h"
#include "drawbar/compare.h"
#include "drawbar/diagnosis.h"
#include "drawbar/digest.h"
#include "drawbar/error.h"
#include "drawbar/reading.h"
#include "drawbar/rig.h"
#include "drawbar/tracking.h"

DBR_API_BEGIN

/* A report for the inbox (drawbar/inbox.h) tells the content of the recording's files beside them. */
struct dbr_upload_mark {
    size_t count;
    const char *const *paths;
    const char (*sha256)[DBR_DIGEST_HEX_SIZE]; /* of each; "" where it could not be read twice */
    const char *made_with; /* digest of program and options; NULL: the report is not to be kept */
};

/* All that a report may draw on. */
struct dbr_report {
    const struct dbr_recording_info *info;
    const struct dbr_history *history;
    const struct dbr_diagnosis *diagnosis;
    const struct dbr_rig *rig; /* NULL: none */
    const struct dbr_closeups *closeups; /* NULL: none, or the recording cannot be read twice */
    const struct dbr_upload_mark *upload; /* NULL: the report is not for the inbox */
    uint32_t bitrate;      /* bit/s, as load was computed */
    enum dbr_units units;  /* of texts; JSON is SI always */
    bool color;            /* text: terminal colours beside the words, never instead */
    unsigned width;        /* text: columns, 40..200; 80 by default */
};

/* The report of an analysis, which must outlive it: 80 columns, no colours, no close-ups. */
struct dbr_report dbr_report_of(const struct dbr_analysis *analysis);

/* The summary for the terminal: verdict first, then findings, ECUs, speed sources, bus. */
int dbr_report_text(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/* The JSON report, schema "drawbar-report/1". */
int dbr_report_json(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/*
 * What stands in place of a report where a recording gave none: its files and the reason, under the
 * same schema, so that a failure travels like a report. A path that begins the reason is left out.
 */
int dbr_report_failure_json(FILE *out, const struct dbr_upload_mark *upload, const char *reason,
                            struct dbr_error *error);

/*
 * The report as one page of HTML that needs nothing else: the verdict and what to do
 * first, then a timeline, then tables. It makes no request, and all of it can be read
 * with scripts off and on paper. Texts in both units, those of `units` shown at first.
 */
int dbr_report_html(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/* What implements described of themselves, as a tree for the terminal; where the recording has none,
 * what that means. `diagnosis` and `rig` are not looked at. */
int dbr_report_devices(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/* Two recordings compared: for the terminal, and as JSON, schema "drawbar-compare/1". */
int dbr_compare_text(FILE *out, const struct dbr_comparison *comparison, enum dbr_units units,
                     bool color, struct dbr_error *error);
int dbr_compare_json(FILE *out, const struct dbr_comparison *comparison,
                     struct dbr_error *error);

/* The same as a page: what became of each finding, both timelines aligned at the first
 * motion. The reports are those of the comparison's sides. */
int dbr_compare_html(FILE *out, const struct dbr_comparison *comparison,
                     const struct dbr_report *before, const struct dbr_report *after,
                     struct dbr_error *error);

DBR_API_END

#endif
