/*
 * reports.c - the forms of report.
 *
 * To add one: write a function in a file of its own that takes a struct
 * dbr_report and writes to a stream, declare it in drawbar/reporting.h, add a
 * row here, and give tests/unit/reporting a case with hostile names.
 */
#include "reporting/reports.h"

#include <errno.h>
#include <string.h>

const struct report_form report_forms[] = {
    {"text", dbr_report_text},
    {"json", dbr_report_json},
    {"html", dbr_report_html},
};

const size_t report_form_count = sizeof report_forms / sizeof report_forms[0];

#define WIDTH_DEFAULT 80u /* columns; what a terminal has that nobody made wider */

struct dbr_report dbr_report_of(const struct dbr_analysis *analysis)
{
    return (struct dbr_report){.info = analysis->info,
                               .history = analysis->history,
                               .diagnosis = analysis->diagnosis,
                               .rig = analysis->rig,
                               .bitrate = analysis->bitrate,
                               .units = analysis->units,
                               .width = WIDTH_DEFAULT};
}

int report_written(FILE *out, struct dbr_error *error)
{
    errno = 0;
    if (fflush(out) == 0 && !ferror(out))
        return 0;
    return dbr_error_set(error, DBR_ERROR_WRITE, "the report cannot be written: %s",
                         errno ? strerror(errno) : "write error");
}
