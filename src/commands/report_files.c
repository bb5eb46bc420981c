/* report_files.c - see report_files.h. */
#include "commands/report_files.h"

#include <stdio.h>

#include "commands/output.h"
#include "commands/second_pass.h"

typedef int report_writer(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/* A report into a file that appears whole or not at all; without a path none. */
static int write_report(const struct analysis *a, const char *path, report_writer *write,
                        struct dbr_error *error)
{
    struct output output;

    if (!path)
        return 0;
    if (output_open(&output, path, error) < 0)
        return -1;
    if (write(output.file, &a->report, error) < 0)
        return output_fail(&output, error);
    return output_commit(&output, error);
}

/* Only the page shows close-ups. */
static int look_closely(struct analysis *a, const struct request *r, const char *const *paths,
                        size_t count, struct dbr_error *error)
{
    if (!r->html)
        return 0;
    int status = second_pass(&a->closeups, a, r, paths, count, error);
    a->report.closeups = a->closeups;
    return status;
}

/* JSON comes last: where it is, so is the page. */
int report_files(struct analysis *a, const struct request *r, const char *const *paths,
                 size_t count, struct dbr_error *error)
{
    if (look_closely(a, r, paths, count, error) < 0 ||
        write_report(a, r->html, dbr_report_html, error) < 0 ||
        write_report(a, r->json, dbr_report_json, error) < 0)
        return -1;
    return r->quiet ? 0 : dbr_report_text(stdout, &a->report, error);
}

int report_failure(const char *path, const struct dbr_upload_mark *upload, const char *reason,
                   struct dbr_error *error)
{
    struct output output;

    if (output_open(&output, path, error) < 0)
        return -1;
    if (dbr_report_failure_json(output.file, upload, reason, error) < 0)
        return output_fail(&output, error);
    return output_commit(&output, error);
}
