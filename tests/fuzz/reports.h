/*
 * reports.h - from a history to every form of report, and what must hold of findings and texts.
 */
#ifndef TESTS_FUZZ_REPORTS_H
#define TESTS_FUZZ_REPORTS_H

#include "drawbar/reporting.h"

/* What a report is made of, as far as the target knows; the rest is made here. */
struct report_wish {
    const struct dbr_recording_info *info;
    const struct dbr_history *history;
    const struct dbr_rig *rig;           /* NULL: none */
    const struct dbr_closeups *closeups; /* NULL: none */
    enum dbr_units units;
    bool page;      /* the page too, which takes as long as all the rest */
};

/* A diagnosis that was found sound; to be freed. */
struct dbr_diagnosis *diagnosis_must_hold(const struct report_wish *wish);

/* All forms of report of a diagnosis. */
void reports_must_hold(const struct report_wish *wish, const struct dbr_diagnosis *diagnosis);

/* The JSON report alone, to be freed. */
char *report_json(const struct report_wish *wish, const struct dbr_diagnosis *diagnosis);

#endif
