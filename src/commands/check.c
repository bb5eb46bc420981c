/* check.c - drawbar check: reads a recording, finds what is wrong, reports. */
#include <stdio.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/interrupt.h"
#include "commands/report_files.h"
#include "commands/upload.h"

const struct option_row check_options[] = {
    {"json", "FILE", "write the report as JSON; - is standard output"},
    {"html", "FILE", "write the report as a page with a timeline; - is standard output"},
    {"for-inbox", NULL, "in the JSON, what drawbar inbox --reports needs to know as well"},
    {"quiet", NULL, "no summary on the terminal"},
    {"rig", "FILE", "what this machine should have, and in which order on the cable"},
    {"rig-from", "RECORDING", "write a first draft of a rig from a good recording"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"interface", "NAME", "look at this interface only"},
    {"from", "T", "begin at T: seconds from start, a time of day, or a date and time"},
    {"to", "T", "end at T"},
    {"bitrate", "N", "bit/s of the bus (250000)"},
    {"threads", "N", "1, or 2: read on a thread of its own (2 where there are two cores)"},
    {"units", "metric|us", "units in texts (metric)"},
    {"color", "auto|always|never", "colours on the terminal (auto; NO_COLOR is honoured)"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

static bool anything_found(const struct dbr_diagnosis *d)
{
    for (size_t i = 0; i < d->finding_count; i++)
        if (d->findings[i].severity > DBR_NOTE)
            return true;
    return false;
}

/* --rig-from: the rig is what the recording shows; it goes to standard output. */
static int draft_rig(struct request *request, const char *path, const struct option_values *values)
{
    static const char *const others[] = {"json", "html", "for-inbox", "rig"};
    struct analysis a = {0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_CLEAN;

    if (values->operand_count > 0)
        return complain("--rig-from takes the recording itself; %s is one too many",
                        values->operands[0]);
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (option_given(values, others[i]))
            return complain("--%s does not go with --rig-from, which writes a rig and no report",
                            others[i]);
    if (analysis_run(&a, request, &path, 1, &error) < 0 ||
        dbr_rig_draft(stdout, a.made->history, &error) < 0)
        status = complain_of(&error);
    analysis_release(&a);
    return status;
}

/* A recording that gave no report leaves a word about that for the inbox. */
static int leave_failure(const struct request *r, const struct dbr_upload_mark *mark,
                         const struct dbr_error *error)
{
    struct dbr_error again = {.code = DBR_ERROR_NONE};

    if (mark && report_failure(r->json, mark, error->text, &again) < 0)
        return complain("%s; nor can its report say so: %s", error->text, again.text);
    return complain_of(error);
}

/* `mark` is NULL where the report is not for the inbox. */
static int check(struct request *request, const struct option_values *values,
                 const struct dbr_upload_mark *mark)
{
    struct analysis a = {0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status;

    request->reading.stop = interrupt_expect();
    bool read =
        (!mark || upload_allowed(values->operands, values->operand_count, &error) == 0) &&
        analysis_run(&a, request, values->operands, values->operand_count, &error) == 0;
    interrupt_expect_no_more();
    if (read && *request->reading.stop)
        complain("the reading was stopped after %.1f s of recording: the report is about that part",
                 (double)a.made->info->last_ns / 1e9);
    if (!read)
        status = leave_failure(request, mark, &error);
    else if ((a.report.upload = mark,
              report_files(&a, request, values->operands, values->operand_count, &error)) < 0)
        status = complain_of(&error);
    else
        status = anything_found(a.made->diagnosis) ? EXIT_FOUND : EXIT_CLEAN;
    analysis_release(&a);
    return status;
}

/* The content of the files is told beside them, and a recording that cannot be used as well. */
static int check_for_inbox(struct request *request, const struct option_values *values)
{
    struct upload upload;
    struct dbr_error error = {.code = DBR_ERROR_NONE};

    if (!request->json)
        return complain("--for-inbox needs --json FILE: that is what the inbox reads");
    if (request_check(request, values->operands, values->operand_count, &error) < 0 ||
        upload_mark(&upload, values->operands, values->operand_count, &error) < 0)
        return complain_of(&error);
    int status = check(request, values, &upload.mark);
    upload_release(&upload);
    return status;
}

int command_check(const struct option_values *values)
{
    const char *good = option_value(values, "rig-from");
    struct request request;

    if (request_read(values, &request) < 0 || request_threads(values, &request) < 0)
        return EXIT_UNUSABLE;
    if (good)
        return draft_rig(&request, good, values);
    if (values->operand_count == 0)
        return complain("check needs a recording: a file, several, or - for standard input");
    return option_given(values, "for-inbox") ? check_for_inbox(&request, values)
                                             : check(&request, values, NULL);
}
