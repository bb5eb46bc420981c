/* check.c - drawbar check: reads a recording, finds what is wrong, reports. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/commands.h"
#include "commands/output.h"
#include "commands/progress.h"
#include "commands/selection.h"
#include "drawbar/reporting.h"

/* ISO 11783-2 and SAE J1939-11: 250 kbit/s; CAN reaches 1 Mbit/s. */
#define BITRATE_DEFAULT 250000u
#define BITRATE_MIN 5000u
#define BITRATE_MAX 1000000u

const struct option_row check_options[] = {
    {"json", "FILE", "write the report as JSON; - is standard output"},
    {"quiet", NULL, "no summary on the terminal"},
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

/* What the command line asks for. */
struct request {
    struct dbr_reading_options reading;
    struct dbr_tracking_options tracking;
    struct dbr_diagnosis_options diagnosis;
    const char *definitions;
    const char *json;
    bool quiet;
    bool color;
};

/* Everything that is made on the way to a report. */
struct work {
    struct dbr_definitions *definitions;
    struct dbr_recording *recording;
    struct dbr_tracking *tracking;
    struct dbr_diagnosis *diagnosis;
    struct dbr_report report;
    uint64_t frames; /* that were looked at */
};

static int read_moment(const struct option_values *values, const char *name,
                       struct dbr_moment *moment)
{
    const char *text = option_value(values, name);

    if (!text || dbr_moment_parse(moment, text) == 0)
        return 0;
    complain("--%s %s: expected seconds (12.5), a time of day (08:13:20) or a date and time "
             "(2024-06-10T08:13:20)", name, text);
    return -1;
}

static int read_bitrate(const struct option_values *values, uint32_t *bitrate)
{
    const char *text = option_value(values, "bitrate");
    char *end;

    *bitrate = BITRATE_DEFAULT;
    if (!text)
        return 0;
    long number = strtol(text, &end, 10);
    if (*end != '\0' || number < (long)BITRATE_MIN || number > (long)BITRATE_MAX) {
        complain("--bitrate %s: expected bit/s from %u to %u", text, BITRATE_MIN, BITRATE_MAX);
        return -1;
    }
    *bitrate = (uint32_t)number;
    return 0;
}

/* The index of a word among those allowed; the first is the default. -1 after a complaint. */
static int read_word(const struct option_values *values, const char *name,
                     const char *const *words)
{
    const char *text = option_value(values, name);

    for (int i = 0; text && words[i]; i++)
        if (strcmp(text, words[i]) == 0)
            return i;
    if (!text)
        return 0;
    complain("--%s %s: expected %s, %s%s%s", name, text, words[0], words[1],
             words[2] ? " or " : "", words[2] ? words[2] : "");
    return -1;
}

static int read_request(const struct option_values *values, struct request *r)
{
    static const char *const units[] = {"metric", "us", NULL};
    static const char *const colors[] = {"auto", "always", "never", NULL};

    *r = (struct request){.definitions = option_value(values, "definitions"),
                          .json = option_value(values, "json"),
                          .quiet = option_given(values, "quiet")};
    r->reading.interface = option_value(values, "interface");
    int unit = read_word(values, "units", units);
    int color = read_word(values, "color", colors);
    if (unit < 0 || color < 0 || read_moment(values, "from", &r->reading.from) < 0 ||
        read_moment(values, "to", &r->reading.to) < 0 ||
        read_bitrate(values, &r->tracking.bitrate) < 0)
        return -1;
    const char *no_color = getenv("NO_COLOR");
    bool terminal = isatty(STDOUT_FILENO) && !(no_color && *no_color);
    r->color = color == 1 || (color == 0 && terminal);
    r->diagnosis.units = unit == 0 ? DBR_UNITS_METRIC : DBR_UNITS_US;
    /* Standard output holds the JSON and nothing else. */
    r->quiet = r->quiet || (r->json && strcmp(r->json, "-") == 0);
    return 0;
}

static int load_definitions(struct work *w, const struct request *r, struct dbr_error *error)
{
    w->definitions = dbr_definitions_new(error);
    if (!w->definitions)
        return -1;
    return r->definitions
               ? dbr_definitions_load_directory(w->definitions, r->definitions, error)
               : 0;
}

static int read_frames(struct work *w, struct dbr_error *error)
{
    struct dbr_batch *batch = malloc(sizeof *batch);
    struct progress progress = progress_start();
    int count = -1;

    if (!batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    batch->capacity = DBR_BATCH_FRAMES;
    while ((count = dbr_recording_next(w->recording, batch, error)) > 0) {
        dbr_tracking_frames(w->tracking, batch->frames, (size_t)count);
        w->frames += (uint64_t)count;
        progress_show(&progress, w->frames, batch->frames[count - 1].at_ns);
    }
    progress_end(&progress);
    free(batch);
    return count;
}

static int analyse(struct work *w, const struct request *r, const struct option_values *values,
                   struct dbr_error *error)
{
    if (load_definitions(w, r, error) < 0 ||
        dbr_recording_open(&w->recording, values->operands, values->operand_count, &r->reading,
                           error) < 0)
        return -1;
    w->tracking = dbr_tracking_new(w->definitions, &r->tracking, error);
    if (!w->tracking || read_frames(w, error) < 0)
        return -1;
    const struct dbr_recording_info *info = dbr_recording_info(w->recording);
    if (selection_found(values, &r->reading, info, w->frames, error) < 0)
        return -1;
    const struct dbr_history *history = dbr_tracking_finish(w->tracking, info, error);
    if (!history)
        return -1;
    w->diagnosis = dbr_diagnosis_new(history, info, &r->diagnosis, error);
    w->report = (struct dbr_report){.info = info,
                                    .history = history,
                                    .diagnosis = w->diagnosis,
                                    .bitrate = r->tracking.bitrate,
                                    .units = r->diagnosis.units,
                                    .color = r->color,
                                    .width = 80};
    return w->diagnosis ? 0 : -1;
}

static int write_json(const struct work *w, const char *path, struct dbr_error *error)
{
    struct output output;

    if (output_open(&output, path, error) < 0)
        return -1;
    if (dbr_report_json(output.file, &w->report, error) < 0) {
        output_abandon(&output);
        return -1;
    }
    return output_commit(&output, error);
}

static int write_reports(const struct work *w, const struct request *r, struct dbr_error *error)
{
    if (r->json && write_json(w, r->json, error) < 0)
        return -1;
    return r->quiet ? 0 : dbr_report_text(stdout, &w->report, error);
}

static void release(struct work *w)
{
    dbr_diagnosis_free(w->diagnosis);
    dbr_tracking_free(w->tracking);
    dbr_recording_close(w->recording);
    dbr_definitions_free(w->definitions);
}

static bool anything_found(const struct dbr_diagnosis *d)
{
    for (size_t i = 0; i < d->finding_count; i++)
        if (d->findings[i].severity > DBR_NOTE)
            return true;
    return false;
}

/* What would go wrong only after a long reading, or go wrong unnoticed. */
static int check_operands(const struct option_values *values, const struct request *r,
                          struct dbr_error *error)
{
    unsigned streams = 0;

    for (size_t i = 0; i < values->operand_count; i++) {
        const char *path = values->operands[i];
        streams += strcmp(path, "-") == 0;
        if (r->json && output_would_replace(r->json, path))
            return dbr_error_set(error, DBR_ERROR_USAGE,
                                 "--json %s: this is the recording; the report needs another name",
                                 r->json);
    }
    if (streams > 1)
        return dbr_error_set(error, DBR_ERROR_USAGE, "-: standard input can be read only once");
    return selection_possible(values, &r->reading, error);
}

int command_check(const struct option_values *values)
{
    struct request request;
    struct work work = {0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_UNUSABLE;

    if (values->operand_count == 0)
        return complain("check needs a recording: a file, several, or - for standard input");
    if (read_request(values, &request) < 0)
        return EXIT_UNUSABLE;
    if (check_operands(values, &request, &error) < 0 || analyse(&work, &request, values, &error) < 0 ||
        write_reports(&work, &request, &error) < 0)
        complain("%s", error.text);
    else
        status = anything_found(work.diagnosis) ? EXIT_FOUND : EXIT_CLEAN;
    release(&work);
    return status;
}
