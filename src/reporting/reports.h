/* reports.h - the forms of report, in one table (reports.c). */
#ifndef DRAWBAR_REPORTING_REPORTS_H
#define DRAWBAR_REPORTING_REPORTS_H

#include "drawbar/reporting.h"

struct report_form {
    const char *name;
    int (*write)(FILE *out, const struct dbr_report *report, struct dbr_error *error);
};

extern const struct report_form report_forms[];
extern const size_t report_form_count;

/* After the last byte: 0, or -1 where something could not be written. */
int report_written(FILE *out, struct dbr_error *error);

/* How long a link of the chain held, over all implements; unknown is not zero. Returns out. */
const char *comparison_held(char *out, size_t size, const struct dbr_history *h,
                            enum dbr_link link);

/* What a row tells of: the finding as it is after, or, where there is none, as it was before. */
const struct dbr_finding *comparison_told(const struct dbr_comparison_row *row);

/* Still there, and at a higher severity than before. */
bool comparison_worse(const struct dbr_comparison_row *row);

/* The severity of a row, with that of before where it was another one. Returns out. */
const char *comparison_severity(char *out, size_t size, const struct dbr_comparison_row *row);

/* The comparison in a sentence (compare_text.c). Returns out. */
const char *comparison_sentence(char *out, size_t size, const struct dbr_comparison *c);

#endif
