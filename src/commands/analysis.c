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

/* CAN reaches 1 Mbit/s (ISO 11898-2). */
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

    *bitrate = DBR_BITRATE_DEFAULT;
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
    complain("--%s %s: expected %s%s%s%s%s", name, text, words[0], words[2] ? ", " : " or ", words[1],
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
    r->units = unit == 0 ? DBR_UNITS_METRIC : DBR_UNITS_US;
    if (r->json && r->html && strcmp(r->json, r->html) == 0) {
        complain("--json and --html %s: each report needs a place of its own", r->html);
        return -1;
    }
    /* Standard output holds the one report and nothing else. */
    r->quiet = r->quiet || (r->json && strcmp(r->json, "-") == 0) ||
               (r->html && strcmp(r->html, "-") == 0);
    return 0;
}

int request_threads(const struct option_values *values, struct request *r)
{
    static const char *const counts[] = {"1", "2", NULL};
    int index = request_word(values, "threads", counts);

    if (index < 0)
        return -1;
    if (!option_given(values, "threads"))
        index = sysconf(_SC_NPROCESSORS_ONLN) > 1;
    r->reading.threads = (unsigned)index + 1;
    return 0;
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

static void show_progress(void *context, uint64_t frames, int64_t at_ns)
{
    progress_show(context, frames, at_ns);
}

int analysis_run(struct analysis *a, const struct request *r, const char *const *paths,
                 size_t count, struct dbr_error *error)
{
    struct progress progress = progress_start();
    struct dbr_analysis_options options = {.reading = r->reading,
                                           .tracking = r->tracking,
                                           .units = r->units,
                                           .definitions = r->definitions,
                                           .loaded = r->loaded,
                                           .rig = r->rig,
                                           .progress = show_progress,
                                           .progress_context = &progress};

    if (request_check(r, paths, count, error) < 0)
        return -1;
    a->made = dbr_analysis_new(paths, count, &options, error);
    progress_end(&progress);
    if (!a->made ||
        selection_found(r->values, &r->reading, a->made->info, a->made->frames, error) < 0)
        return -1;
    a->report = dbr_report_of(a->made);
    a->report.color = r->color;
    return 0;
}

void analysis_release(struct analysis *a)
{
    dbr_closeups_free(a->closeups);
    dbr_analysis_free(a->made);
}
