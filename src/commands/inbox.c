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
#include "commands/inbox_site.h"
#include "commands/output.h"
#include "drawbar/inbox.h"

const struct option_row inbox_options[] = {
    {"out", "SITE", "the folder for what comes out; the next run goes on from it"},
    {"reports", "DIR", "in place of uploads: reports that check --for-inbox has written"},
    {"jobs", "N", "so many processes at a time (one a core)"},
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
    struct dbr_inbox *inbox;
    FILE *spool;
    const char *folder; /* of uploads, or of reports */
    bool reduce_only;
    uint64_t strangers; /* files among the reports that are none */
    char *paths[3]; /* absolute: folder, rig, definitions */
};

static int read_jobs(const struct option_values *values, unsigned *jobs)
{
    const char *text = option_value(values, "jobs");
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    char *end;

    long number = text ? strtol(text, &end, 10) : cores > 0 ? cores : 1;
    if (text && (*end != '\0' || number < 1 || number > (long)DBR_INBOX_JOBS_MAX)) {
        complain("--jobs %s: expected a number from 1 to %u", text, DBR_INBOX_JOBS_MAX);
        return -1;
    }
    *jobs = number > (long)DBR_INBOX_JOBS_MAX ? DBR_INBOX_JOBS_MAX : (unsigned)number;
    return 0;
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

/* Mistakes in rig and definitions are the command's, not those of each upload. */
static int prove_options(const struct request *r, struct dbr_error *error)
{
    struct dbr_definitions *definitions = dbr_definitions_new(error);
    int status = definitions ? 0 : -1;

    if (status == 0 && r->definitions)
        status = dbr_definitions_load_directory(definitions, r->definitions, error);
    dbr_definitions_free(definitions);
    if (status < 0 || !r->rig)
        return status;
    struct dbr_rig *rig = dbr_rig_load(r->rig, error);
    status = rig ? 0 : -1;
    dbr_rig_free(rig);
    return status;
}

static bool exists(const char *path)
{
    return path && access(path, F_OK) == 0;
}

static int add(struct run *run, const struct dbr_inbox_upload *upload, struct dbr_error *error)
{
    int status = dbr_inbox_add(run->inbox, upload, error);

    if (status != 1)
        return status;
    if (run->reduce_only) {
        run->strangers++;
        return 0;
    }
    struct dbr_inbox_upload broken = *upload;
    broken.json = NULL;
    broken.reason = "its report in the site cannot be read: remove it and run once more";
    return dbr_inbox_add(run->inbox, &broken, error);
}

/* Reports as the map step of this very run left them, or an earlier one. */
static int gather_own(struct run *run, struct dbr_error *error)
{
    int status = 0;

    for (size_t at = 0; status == 0 && at < run->walk.count; at++) {
        const struct walk_entry *e = &run->walk.entries[run->map.order[at]];
        size_t length = map_id_length(&run->map, at);
        char *json = site_report(&run->site, e->sha256, length, ".json");
        char *html = site_report(&run->site, e->sha256, length, ".html");
        char *text = length > 0 && !e->reason && json ? read_text(json, DBR_INBOX_REPORT_MAX) : NULL;
        struct dbr_inbox_upload upload = {
            .path = e->path,
            .sha256 = e->sha256,
            .json = text,
            .reason = e->reason ? e->reason : "its report cannot be read",
            .page = exists(html),
        };
        status = add(run, &upload, error);
        free(text);
        free(json);
        free(html);
    }
    return status;
}

/* The page of a report that came from elsewhere may be in the site, or not. */
static bool has_page(const struct run *run, const char *text)
{
    static const char key[] = "\"sha256\":";
    const char *at = strstr(text, key);

    at = at ? strchr(at + sizeof key - 1, '"') : NULL;
    if (!at || strspn(at + 1, "0123456789abcdef") != DBR_DIGEST_HEX_SIZE - 1)
        return false;
    char *brief = site_report(&run->site, at + 1, DBR_INBOX_ID_DIGITS, ".html");
    bool there = exists(brief);
    free(brief);
    return there;
}

static int gather_reports(struct run *run, struct dbr_error *error)
{
    int status = 0;

    for (size_t i = 0; status == 0 && i < run->walk.count; i++) {
        char path[2 * DBR_INBOX_PATH_MAX];
        const char *name = run->walk.entries[i].path, *dot = strrchr(name, '.');
        if (dot && strcmp(dot, ".html") == 0)
            continue; /* the pages of these reports, where both are in one folder */
        snprintf(path, sizeof path, "%s/%s", run->folder, name);
        char *text = read_text(path, DBR_INBOX_REPORT_MAX);
        if (text) {
            struct dbr_inbox_upload upload = {.json = text, .page = has_page(run, text)};
            status = add(run, &upload, error);
        } else {
            run->strangers++;
        }
        free(text);
    }
    return status;
}

/* What to write: lines, or page `number` of a list. */
struct writing {
    int (*lines)(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error);
    enum dbr_inbox_list list;
    size_t number;
};

static int write_file(const struct run *run, const char *name, const struct writing *w,
                      struct dbr_error *error)
{
    char *path = site_file(&run->site, name);
    struct output output;

    if (!path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    int status = output_open(&output, path, error);
    if (status == 0) {
        status = w->lines ? w->lines(output.file, run->inbox, error)
                          : dbr_inbox_page(output.file, run->inbox, w->list, w->number, error);
        if (status < 0)
            output_abandon(&output);
        else
            status = output_commit(&output, error);
    }
    free(path);
    return status;
}

/* All pages of a list. Those that an earlier run had beyond its end go. */
static int write_pages(const struct run *run, enum dbr_inbox_list list, struct dbr_error *error)
{
    size_t count = dbr_inbox_pages(run->inbox, list);
    char name[DBR_INBOX_NAME_SIZE];
    bool more = true;

    for (size_t i = 1; i <= count; i++) {
        struct writing w = {.list = list, .number = i};
        if (write_file(run, dbr_inbox_page_name(name, list, i), &w, error) < 0)
            return -1;
    }
    for (size_t i = count + 1; more; i++) {
        char *path = site_file(&run->site, dbr_inbox_page_name(name, list, i));
        more = path && unlink(path) == 0;
        free(path);
    }
    return 0;
}

/* The index comes last: what it speaks of is there. */
static int write_site(const struct run *run, struct dbr_error *error)
{
    static const struct writing findings = {.lines = dbr_inbox_findings};
    static const struct writing uploads = {.lines = dbr_inbox_uploads};

    if (write_file(run, "findings.ndjson", &findings, error) < 0 ||
        write_file(run, "uploads.ndjson", &uploads, error) < 0 ||
        write_pages(run, DBR_INBOX_HISTORY, error) < 0)
        return -1;
    return write_pages(run, DBR_INBOX_INDEX, error);
}

static int reduce(struct run *run, struct dbr_error *error)
{
    run->spool = tmpfile();
    if (!run->spool)
        return dbr_error_set(error, DBR_ERROR_WRITE, "no temporary file can be made: %s",
                             strerror(errno));
    run->inbox = dbr_inbox_new(run->spool, error);
    if (!run->inbox ||
        (run->reduce_only ? gather_reports(run, error) : gather_own(run, error)) < 0 ||
        dbr_inbox_order(run->inbox, error) < 0)
        return -1;
    return write_site(run, error);
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

static int run_all(struct run *run, const struct option_values *values, struct dbr_error *error)
{
    struct request *r = &run->request;

    if (make_absolute(&run->folder, &run->paths[0], error) < 0 ||
        make_absolute(&r->rig, &run->paths[1], error) < 0 ||
        make_absolute(&r->definitions, &run->paths[2], error) < 0 || prove_options(r, error) < 0 ||
        keep_apart(run, option_value(values, "out"), error) < 0 ||
        site_open(&run->site, option_value(values, "out"), error) < 0 ||
        walk_folder(&run->walk, run->folder, run->reduce_only ? NULL : run->site.path, error) < 0)
        return -1;
    run->map.request = r;
    run->map.site = &run->site;
    run->map.walk = &run->walk;
    run->map.folder = run->folder;
    run->map.rehash = option_given(values, "rehash");
    if (!run->reduce_only && map_run(&run->map, error) < 0)
        return -1;
    return reduce(run, error);
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
    note("files that are no reports of check --for-inbox, left alone", run->strangers);
    note("findings beyond what histories are made of", t->events_beyond);
}

static void run_release(struct run *run)
{
    dbr_inbox_free(run->inbox);
    if (run->spool)
        fclose(run->spool);
    map_release(&run->map);
    walk_release(&run->walk);
    site_close(&run->site);
    for (size_t i = 0; i < sizeof run->paths / sizeof run->paths[0]; i++)
        free(run->paths[i]);
}

static int finish(const struct run *run)
{
    struct dbr_inbox_totals totals;

    dbr_inbox_totals(run->inbox, &totals);
    notes(run, &totals);
    if (!run->request.quiet)
        summary(run, &totals);
    return totals.by_worst[DBR_WORST_FAULT] + totals.by_worst[DBR_WORST_WARNING] +
                       totals.by_worst[DBR_WORST_UNUSABLE] > 0
               ? EXIT_FOUND
               : EXIT_CLEAN;
}

int command_inbox(const struct option_values *values)
{
    struct run run = {.site = {.lock = -1}};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    const char *reports = option_value(values, "reports");

    if (request_read(values, &run.request) < 0 || read_jobs(values, &run.map.jobs) < 0)
        return EXIT_UNUSABLE;
    if (!option_value(values, "out"))
        return complain("inbox needs --out SITE, a folder for what comes out");
    if (values->operand_count != (reports ? 0u : 1u))
        return complain("inbox needs one folder: of uploads, or with --reports of their reports");
    run.reduce_only = reports != NULL;
    run.folder = reports ? reports : values->operands[0];
    int status = run_all(&run, values, &error) < 0 ? complain_of(&error) : finish(&run);
    run_release(&run);
    return status;
}
