/* text_findings.h - findings as paragraphs: causes in full, consequences and notes in short. */
#ifndef DRAWBAR_REPORTING_TEXT_FINDINGS_H
#define DRAWBAR_REPORTING_TEXT_FINDINGS_H

#include "drawbar/reporting.h"
#include "reporting/layout.h"

/* Every finding once. Returns -1 where memory is out. */
int text_findings(const struct layout *l, const struct dbr_report *r, struct dbr_error *error);

#endif
