/* analysis.c - see analysis.h. */
#include "commands/analysis.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/commands.h"
#include "commands/output.h"
#include "commands/progress.h"
#include "commands/selection.h"

/* ISO 11783-2 and SAE J1939-11: 250 kbit/s; CAN reaches 1 Mbit/s. */
#define BITRATE_DEFAULT 250000u
#define BITRATE_MIN 5000u
#define BITRATE_MAX 1000000u

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

int request_word(const struct option_values *values, const char *name, const char *const *words)
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

int request_read(const struct option_values *values, struct request *r)
{
    static const char *const units[] = {"metric", "us", NULL};
    static const char *const colors[] = {"auto", "always", "never", NULL};

    *r = (struct request){.values = values,
                          .definitions = option_value(values, "definitions"),
                          .rig = option_value(values, "rig"),
                          .json = option_value(values, "json"),
                          .html = option_value(values, "html"),
                          .quiet = option_given(values, "quiet")};
    r->reading.interface = option_value(values, "interface");
    int unit = request_word(values, "units", units);
    int color = request_word(values, "color", colors);
    if (unit < 0 || color < 0 || read_moment(values, "from", &r->reading.from) < 0 ||
        read_moment(values, "to", &r->reading.to) < 0 ||
        read_bitrate(values, &r->tracking.bitrate) < 0)
        return -1;
    const char *no_color = getenv("NO_COLOR");
    bool terminal = isatty(STDOUT_FILENO) && !(no_color && *no_color);
    r->color = color == 1 || (color == 0 && terminal);
    r->diagnosis.units = unit == 0 ? DBR_UNITS_METRIC : DBR_UNITS_US;
    if (r->json && r->html && strcmp(r->json, r->html) == 0) {
        complain("--json and --html %s: each report needs a place of its own", r->html);
        return -1;
    }
    /* Standard output holds the one report and nothing else. */
    r->quiet = r->quiet || (r->json && strcmp(r->json, "-") == 0) ||
               (r->html && strcmp(r->html, "-") == 0);
    return 0;
}

static int load_definitions(struct analysis *a, const struct request *r, struct dbr_error *error)
{
    a->definitions = dbr_definitions_new(error);
    if (!a->definitions)
        return -1;
    return r->definitions
               ? dbr_definitions_load_directory(a->definitions, r->definitions, error)
               : 0;
}

/* Frames before the window tell who is who; those in it are judged. */
static int take_batch(struct analysis *a, const struct dbr_batch *batch, struct dbr_error *error)
{
    int64_t from_ns = dbr_recording_info(a->recording)->from_ns;
    size_t before = 0;

    while (before < batch->count && batch->frames[before].at_ns < from_ns)
        before++;
    if (dbr_tracking_lead_in(a->tracking, batch->frames, before, error) < 0)
        return -1;
    if (before < batch->count)
        dbr_tracking_frames(a->tracking, batch->frames + before, batch->count - before);
    a->frames += batch->count - before;
    return 0;
}

static int read_frames(struct analysis *a, struct dbr_error *error)
{
    struct dbr_batch *batch = malloc(sizeof *batch);
    struct progress progress = progress_start();
    int count = -1;

    if (!batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    batch->capacity = DBR_BATCH_FRAMES;
    while ((count = dbr_recording_next(a->recording, batch, error)) > 0) {
        if (take_batch(a, batch, error) < 0) {
            count = -1;
            break;
        }
        progress_show(&progress, a->frames, batch->frames[count - 1].at_ns);
    }
    progress_end(&progress);
    free(batch);
    return count;
}

static int load_rig(struct analysis *a, struct request *r, struct dbr_error *error)
{
    if (!r->rig)
        return 0;
    a->rig = dbr_rig_load(r->rig, error);
    r->diagnosis.rig = a->rig;
    return a->rig ? 0 : -1;
}

/* A report must not take the place of what it is about. */
static int check_report(const char *option, const char *report, const char *recording,
                        struct dbr_error *error)
{
    if (!report || !output_would_replace(report, recording))
        return 0;
    return dbr_error_set(error, DBR_ERROR_USAGE,
                         "--%s %s: this is the recording; the report needs another name", option,
                         report);
}

int request_check(const struct request *r, const char *const *paths, size_t count,
                  struct dbr_error *error)
{
    unsigned streams = 0;

    for (size_t i = 0; i < count; i++) {
        streams += strcmp(paths[i], "-") == 0;
        if (check_report("json", r->json, paths[i], error) < 0 ||
            check_report("html", r->html, paths[i], error) < 0)
            return -1;
    }
    if (streams > 1)
        return dbr_error_set(error, DBR_ERROR_USAGE, "-: standard input can be read only once");
    return selection_possible(r->values, &r->reading, error);
}

int analysis_run(struct analysis *a, struct request *r, const char *const *paths, size_t count,
                 struct dbr_error *error)
{
    struct dbr_reading_options reading = r->reading;

    reading.lead_in = true;
    if (request_check(r, paths, count, error) < 0 || load_definitions(a, r, error) < 0 ||
        load_rig(a, r, error) < 0 ||
        dbr_recording_open(&a->recording, paths, count, &reading, error) < 0)
        return -1;
    a->tracking = dbr_tracking_new(a->definitions, &r->tracking, error);
    if (!a->tracking || read_frames(a, error) < 0)
        return -1;
    const struct dbr_recording_info *info = dbr_recording_info(a->recording);
    if (selection_found(r->values, &r->reading, info, a->frames, error) < 0)
        return -1;
    const struct dbr_history *history = dbr_tracking_finish(a->tracking, info, error);
    if (!history)
        return -1;
    a->diagnosis = dbr_diagnosis_new(history, info, &r->diagnosis, error);
    a->report = (struct dbr_report){.info = info,
                                    .history = history,
                                    .diagnosis = a->diagnosis,
                                    .rig = a->rig,
                                    .bitrate = r->tracking.bitrate,
                                    .units = r->diagnosis.units,
                                    .color = r->color,
                                    .width = 80};
    return a->diagnosis ? 0 : -1;
}

void analysis_release(struct analysis *a)
{
    dbr_closeups_free(a->closeups);
    dbr_diagnosis_free(a->diagnosis);
    dbr_rig_free(a->rig);
    dbr_tracking_free(a->tracking);
    dbr_recording_close(a->recording);
    dbr_definitions_free(a->definitions);
}
