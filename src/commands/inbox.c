/*
 * inbox.c - drawbar inbox: every upload in a folder, a report each, and what they say together.
 *
 * Map: a report of each content (inbox_map.c), or by whoever ran check --for-inbox. Reduce: the
 * reports into an index and lines for other systems (drawbar/inbox.h).
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/inbox_map.h"
#include "commands/inbox_reduce.h"
#include "commands/inbox_site.h"

/* A day of a busy bus takes less than a minute; what takes ten has met something else. Common
 * practice, no source. */
#define LIMIT_DEFAULT_S 600u
#define LIMIT_MAX_S 86400u

const struct option_row inbox_options[] = {
    {"out", "SITE", "the folder for what comes out; the next run goes on from it"},
    {"reports", "DIR", "in place of uploads: reports that check --for-inbox has written"},
    {"jobs", "N", "so many processes at a time (one a core)"},
    {"limit", "N", "seconds that one upload may take before it is given up (600)"},
    {"rehash", NULL, "read every upload, also where size and times are as before"},
    {"quiet", NULL, "no summary"},
    {"rig", "FILE", "what the machines should have, and in which order on the cable"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"interface", "NAME", "look at this interface only"},
    {"bitrate", "N", "bit/s of the bus (250000)"},
    {"units", "metric|us", "units in texts (metric)"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

/* All that a run holds. */
struct run {
    struct request request;
    struct site site;
    struct walk walk;
    struct map map;
    struct reduce reduce;
    struct dbr_definitions *definitions;
    const char *folder; /* of uploads, or of reports */
    bool reduce_only;
    char *paths[3]; /* absolute: folder, rig, definitions */
};

static int read_number(const struct option_values *values, const char *name, unsigned most,
                       unsigned *number)
{
    const char *text = option_value(values, name);
    char *end;

    if (!text)
        return 0;
    long value = strtol(text, &end, 10);
    if (end == text || *end != '\0' || value < 1 || value > (long)most) {
        complain("--%s %s: expected a number from 1 to %u", name, text, most);
        return -1;
    }
    *number = (unsigned)value;
    return 0;
}

static int read_numbers(const struct option_values *values, struct map *map)
{
    long cores = sysconf(_SC_NPROCESSORS_ONLN);

    map->jobs = cores < 1 ? 1 : cores > (long)DBR_INBOX_JOBS_MAX ? DBR_INBOX_JOBS_MAX : (unsigned)cores;
    map->limit_s = LIMIT_DEFAULT_S;
    if (read_number(values, "jobs", DBR_INBOX_JOBS_MAX, &map->jobs) < 0)
        return -1;
    return read_number(values, "limit", LIMIT_MAX_S, &map->limit_s);
}

/* Processes work in the folder of uploads, where other relative paths would lead elsewhere. */
static int make_absolute(const char **path, char **kept, struct dbr_error *error)
{
    if (!*path)
        return 0;
    *kept = realpath(*path, NULL);
    if (!*kept)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: %s", *path, strerror(errno));
    *path = *kept;
    return 0;
}

/* Mistakes in rig and definitions are the command's, not those of each upload. Definitions stay:
 * to load them takes as long as a small upload. */
static int load_options(struct run *run, struct dbr_error *error)
{
    struct request *r = &run->request;

    run->definitions = dbr_definitions_new(error);
    if (!run->definitions ||
        (r->definitions &&
         dbr_definitions_load_directory(run->definitions, r->definitions, error) < 0))
        return -1;
    r->loaded = run->definitions;
    if (!r->rig)
        return 0;
    struct dbr_rig *rig = dbr_rig_load(r->rig, error);
    dbr_rig_free(rig);
    return rig ? 0 : -1;
}

/* What comes out must not come in again. */
static int keep_apart(const struct run *run, const char *out, struct dbr_error *error)
{
    struct stat from, to;

    if (run->reduce_only || stat(run->folder, &from) < 0 || stat(out, &to) < 0 ||
        from.st_dev != to.st_dev || from.st_ino != to.st_ino)
        return 0;
    return dbr_error_set(error, DBR_ERROR_USAGE,
                         "--out %s: this is the folder of uploads; it may be a folder inside it",
                         out);
}

static void take(void *context, size_t at)
{
    struct run *run = context;
    reduce_take(&run->reduce, &run->map, at);
}

/* Each report is taken as soon as it is there: while others work this process would only wait. */
static int map_uploads(struct run *run, bool rehash, struct dbr_error *error)
{
    run->map.request = &run->request;
    run->map.site = &run->site;
    run->map.walk = &run->walk;
    run->map.folder = run->folder;
    run->map.rehash = rehash;
    run->map.settled = take;
    run->map.context = run;
    return map_run(&run->map, error);
}

static int run_all(struct run *run, const struct option_values *values, struct dbr_error *error)
{
    struct request *r = &run->request;

    if (make_absolute(&run->folder, &run->paths[0], error) < 0 ||
        make_absolute(&r->rig, &run->paths[1], error) < 0 ||
        make_absolute(&r->definitions, &run->paths[2], error) < 0 || load_options(run, error) < 0 ||
        keep_apart(run, option_value(values, "out"), error) < 0 ||
        site_open(&run->site, option_value(values, "out"), error) < 0 ||
        walk_folder(&run->walk, run->folder, run->reduce_only ? NULL : run->site.path, error) < 0)
        return -1;
    if (reduce_begin(&run->reduce, &run->site, error) < 0 ||
        (run->reduce_only ? reduce_folder(&run->reduce, run->folder, &run->walk, error)
                          : map_uploads(run, option_given(values, "rehash"), error)) < 0)
        return -1;
    return reduce_finish(&run->reduce, error);
}

static void count_line(const char *text, uint64_t count)
{
    if (count > 0)
        printf("%8llu %s\n", (unsigned long long)count, text);
}

static void summary(const struct run *run, const struct dbr_inbox_totals *t)
{
    printf("%llu uploads, %llu findings\n", (unsigned long long)t->uploads,
           (unsigned long long)t->findings);
    count_line("with a fault", t->by_worst[DBR_WORST_FAULT]);
    count_line("with a warning", t->by_worst[DBR_WORST_WARNING]);
    count_line("unusable", t->by_worst[DBR_WORST_UNUSABLE]);
    count_line("with notes only", t->by_worst[DBR_WORST_NOTE]);
    count_line("without a finding", t->by_worst[DBR_WORST_NONE]);
    count_line("copies of these by content", t->copies);
    count_line("faults and warnings that came more than once on a machine", t->histories);
    if (!run->reduce_only)
        printf("%llu analysed now, %llu known from an earlier run\n",
               (unsigned long long)run->map.counts.analysed,
               (unsigned long long)run->map.counts.kept);
}

/* What was left out, whatever else is quiet. */
static void note(const char *text, uint64_t count)
{
    if (count > 0)
        fprintf(stderr, "drawbar: %llu %s\n", (unsigned long long)count, text);
}

static void notes(const struct run *run, const struct dbr_inbox_totals *t)
{
    note("symbolic links to folders or to nothing, not followed", run->walk.links);
    note("pipes, sockets or devices, left alone", run->walk.special);
    note("folders or files that cannot be read, or lie too deep", run->walk.unread);
    note("files that are no reports of check --for-inbox, left alone", run->reduce.strangers);
    note("reports of more bytes or values than an inbox reads, left alone", run->reduce.too_large);
    note("findings beyond what histories are made of", t->events_beyond);
}

static void run_release(struct run *run)
{
    reduce_release(&run->reduce);
    dbr_definitions_free(run->definitions);
    map_release(&run->map);
    walk_release(&run->walk);
    site_close(&run->site);
    for (size_t i = 0; i < sizeof run->paths / sizeof run->paths[0]; i++)
        free(run->paths[i]);
}

static int finish(const struct run *run)
{
    struct dbr_inbox_totals totals;

    dbr_inbox_totals(run->reduce.inbox, &totals);
    notes(run, &totals);
    if (!run->request.quiet)
        summary(run, &totals);
    return totals.by_worst[DBR_WORST_FAULT] + totals.by_worst[DBR_WORST_WARNING] +
                       totals.by_worst[DBR_WORST_UNUSABLE] > 0
               ? EXIT_FOUND
               : EXIT_CLEAN;
}

/* The first option that is about uploads, where there are reports of them already; NULL: none. */
static const char *option_of_uploads(const struct option_values *values)
{
    static const char *const names[] = {"jobs", "limit", "rehash", "rig",
                                        "definitions", "interface", "bitrate", "units"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (option_given(values, names[i]))
            return names[i];
    return NULL;
}

int command_inbox(const struct option_values *values)
{
    struct run run = {.site = {.lock = -1}};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    const char *reports = option_value(values, "reports");

    if (request_read(values, &run.request) < 0 || read_numbers(values, &run.map) < 0)
        return EXIT_UNUSABLE;
    if (!option_value(values, "out"))
        return complain("inbox needs --out SITE, a folder for what comes out");
    if (values->operand_count != (reports ? 0u : 1u))
        return complain("inbox needs one folder: of uploads, or with --reports of their reports");
    if (reports && option_of_uploads(values))
        return complain("--%s does not go with --reports: they have been made",
                        option_of_uploads(values));
    run.reduce_only = reports != NULL;
    run.folder = reports ? reports : values->operands[0];
    int status = run_all(&run, values, &error) < 0 ? complain_of(&error) : finish(&run);
    run_release(&run);
    return status;
}
