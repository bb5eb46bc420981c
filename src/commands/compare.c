/* compare.c - drawbar compare: did the repair hold? */
#include <stdio.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/output.h"

const struct option_row compare_options[] = {
    {"json", "FILE", "write the comparison as JSON; - is standard output"},
    {"html", "FILE", "write the comparison as a page; - is standard output"},
    {"quiet", NULL, "no summary on the terminal"},
    {"rig", "FILE", "what this machine should have, and in which order on the cable"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"interface", "NAME", "look at this interface only"},
    {"bitrate", "N", "bit/s of the bus (250000)"},
    {"threads", "N", "1, or 2: read on a thread of its own (2 where there are two cores)"},
    {"units", "metric|us", "units in texts (metric)"},
    {"color", "auto|always|never", "colours on the terminal (auto; NO_COLOR is honoured)"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

static struct dbr_side side_of(const struct analysis *a)
{
    return (struct dbr_side){a->made->info, a->made->history, a->made->diagnosis};
}

/* Both sides, and what became of each finding. */
struct comparing {
    const struct dbr_comparison *result;
    const struct analysis *before, *after;
};

typedef int comparison_writer(FILE *out, const struct comparing *c, struct dbr_error *error);

static int as_json(FILE *out, const struct comparing *c, struct dbr_error *error)
{
    return dbr_compare_json(out, c->result, error);
}

static int as_page(FILE *out, const struct comparing *c, struct dbr_error *error)
{
    return dbr_compare_html(out, c->result, &c->before->report, &c->after->report, error);
}

/* Into a file that appears whole or not at all; without a path none. */
static int write_file(const struct comparing *c, const char *path, comparison_writer *write,
                      struct dbr_error *error)
{
    struct output output;

    if (!path)
        return 0;
    if (output_open(&output, path, error) < 0)
        return -1;
    if (write(output.file, c, error) < 0)
        return output_fail(&output, error);
    return output_commit(&output, error);
}

static int write_all(const struct comparing *c, const struct request *r, struct dbr_error *error)
{
    if (write_file(c, r->json, as_json, error) < 0 || write_file(c, r->html, as_page, error) < 0)
        return -1;
    return r->quiet ? 0 : dbr_compare_text(stdout, c->result, r->units, r->color, error);
}

static int compare(const struct analysis *before, const struct analysis *after,
                   const struct request *r)
{
    struct dbr_side sides[2] = {side_of(before), side_of(after)};
    struct dbr_error error;
    struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], &error);
    int status = EXIT_UNUSABLE;

    if (!c || write_all(&(struct comparing){c, before, after}, r, &error) < 0)
        complain_of(&error);
    else
        status = c->repaired ? EXIT_CLEAN : EXIT_FOUND;
    dbr_comparison_free(c);
    return status;
}

int command_compare(const struct option_values *values)
{
    struct request request;
    struct analysis sides[2] = {{0}, {0}};
    struct dbr_error error;
    int status = EXIT_CLEAN;

    if (values->operand_count != 2)
        return complain("compare needs two recordings: before the repair, and after it");
    if (request_read(values, &request) < 0 || request_threads(values, &request) < 0)
        return EXIT_UNUSABLE;
    if (request_check(&request, values->operands, values->operand_count, &error) < 0)
        return complain_of(&error);
    for (int i = 0; i < 2 && status == EXIT_CLEAN; i++)
        if (analysis_run(&sides[i], &request, &values->operands[i], 1, &error) < 0)
            status = complain_of(&error);
    if (status == EXIT_CLEAN)
        status = compare(&sides[0], &sides[1], &request);
    analysis_release(&sides[0]);
    analysis_release(&sides[1]);
    return status;
}
