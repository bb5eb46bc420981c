/* check.c - drawbar check: reads a recording, finds what is wrong, reports. */
#include <stdio.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/output.h"
#include "commands/second_pass.h"

const struct option_row check_options[] = {
    {"json", "FILE", "write the report as JSON; - is standard output"},
    {"html", "FILE", "write the report as a page with a timeline; - is standard output"},
    {"quiet", NULL, "no summary on the terminal"},
    {"rig", "FILE", "what this machine should have, and in which order on the cable"},
    {"rig-from", "RECORDING", "write a first draft of a rig from a good recording"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"interface", "NAME", "look at this interface only"},
    {"from", "T", "begin at T: seconds from start, a time of day, or a date and time"},
    {"to", "T", "end at T"},
    {"bitrate", "N", "bit/s of the bus (250000)"},
    {"units", "metric|us", "units in texts (metric)"},
    {"color", "auto|always|never", "colours on the terminal (auto; NO_COLOR is honoured)"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

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
    if (write(output.file, &a->report, error) < 0) {
        output_abandon(&output);
        return -1;
    }
    return output_commit(&output, error);
}

static int write_reports(const struct analysis *a, const struct request *r, struct dbr_error *error)
{
    if (write_report(a, r->json, dbr_report_json, error) < 0 ||
        write_report(a, r->html, dbr_report_html, error) < 0)
        return -1;
    return r->quiet ? 0 : dbr_report_text(stdout, &a->report, error);
}

static bool anything_found(const struct dbr_diagnosis *d)
{
    for (size_t i = 0; i < d->finding_count; i++)
        if (d->findings[i].severity > DBR_NOTE)
            return true;
    return false;
}

/* --rig-from: the rig is what the recording shows; it goes to standard output. */
static int draft_rig(struct request *request, const char *path)
{
    struct analysis a = {0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_CLEAN;

    if (analysis_run(&a, request, &path, 1, &error) < 0 ||
        dbr_rig_draft(stdout, a.report.history, &error) < 0)
        status = complain("%s", error.text);
    analysis_release(&a);
    return status;
}

/* Only the page shows close-ups. */
static int look_closely(struct analysis *a, const struct request *r,
                        const struct option_values *values, struct dbr_error *error)
{
    if (!r->html)
        return 0;
    int status = second_pass(&a->closeups, a, r, values->operands, values->operand_count, error);
    a->report.closeups = a->closeups;
    return status;
}

static int check(struct request *request, const struct option_values *values)
{
    struct analysis a = {0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_UNUSABLE;

    if (analysis_run(&a, request, values->operands, values->operand_count, &error) < 0 ||
        look_closely(&a, request, values, &error) < 0 ||
        write_reports(&a, request, &error) < 0)
        complain("%s", error.text);
    else
        status = anything_found(a.diagnosis) ? EXIT_FOUND : EXIT_CLEAN;
    analysis_release(&a);
    return status;
}

int command_check(const struct option_values *values)
{
    const char *good = option_value(values, "rig-from");
    struct request request;

    if (request_read(values, &request) < 0)
        return EXIT_UNUSABLE;
    if (good && values->operand_count > 0)
        return complain("--rig-from takes the recording itself; %s is one too many",
                        values->operands[0]);
    if (good)
        return draft_rig(&request, good);
    if (values->operand_count == 0)
        return complain("check needs a recording: a file, several, or - for standard input");
    return check(&request, values);
}
