/* inbox_map.c - see inbox_map.h. */
#include "commands/inbox_map.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/inbox_pool.h"
#include "commands/report_files.h"
#include "commands/upload.h"
#include "drawbar/inbox.h"

#define HEAD_BYTES 512u /* of a report: holds its mark (json_upload.c) */

size_t map_id_length(const struct map *map, size_t at)
{
    return map->digests[at][0] ? dbr_inbox_id_length(map->digests, map->walk->count, at) : 0;
}

/* `at` counts in map->order, as todo[] does while reports are made. */
static char *report_path(const struct map *map, size_t at, const char *suffix)
{
    return site_report(map->site, map->digests[at], map_id_length(map, at), suffix);
}

/* "-" would be standard input. */
static const char *openable(const char *path)
{
    return strcmp(path, "-") == 0 ? "./-" : path;
}

static void fail(struct pool_result *result, const char *text)
{
    result->failed = true;
    snprintf(result->text, sizeof result->text, "%s", text);
}

static void show(struct map *map, const char *what, size_t count)
{
    if (isatty(STDERR_FILENO))
        fprintf(stderr, "\r%s %zu of %zu\033[K%s", what, map->finished, count,
                map->finished == count ? "\r\033[K" : "");
}

/* What a report depends on beside its upload: the program itself, its options, and the files that
 * these name. The system shows a program its own file under /proc; elsewhere the version decides. */
static int sign(struct map *map, struct dbr_error *error)
{
    const struct request *r = map->request;
    char program[DBR_DIGEST_HEX_SIZE] = "", rig[DBR_DIGEST_HEX_SIZE] = "", text[256];
    struct dbr_digest digest;
    struct walk definitions = {0};

    dbr_digest_file("/proc/self/exe", program, NULL);
    if (r->rig && dbr_digest_file(r->rig, rig, error) < 0)
        return -1;
    dbr_digest_start(&digest);
    snprintf(text, sizeof text, "%s %s %s %u %d\n", DRAWBAR_VERSION, program, rig,
             r->tracking.bitrate, (int)r->units);
    dbr_digest_add(&digest, text, strlen(text));
    if (r->reading.interface)
        dbr_digest_add(&digest, r->reading.interface, strlen(r->reading.interface) + 1);
    if (r->definitions && walk_folder(&definitions, r->definitions, NULL, error) < 0) {
        walk_release(&definitions);
        return -1;
    }
    for (size_t i = 0; i < definitions.count; i++) {
        char path[2 * DBR_INBOX_PATH_MAX], hex[DBR_DIGEST_HEX_SIZE] = "";
        snprintf(path, sizeof path, "%s/%s", r->definitions, definitions.entries[i].path);
        dbr_digest_file(path, hex, NULL);
        dbr_digest_add(&digest, hex, sizeof hex);
        dbr_digest_add(&digest, path, strlen(path) + 1);
    }
    walk_release(&definitions);
    dbr_digest_finish(&digest, map->made_with);
    return 0;
}

/* The signature of the report of an entry: a name stands in its texts, so it counts as well. */
static void mark_entry(const struct map *map, const struct walk_entry *e,
                       char hex[DBR_DIGEST_HEX_SIZE])
{
    struct dbr_digest digest;

    dbr_digest_start(&digest);
    dbr_digest_add(&digest, map->made_with, strlen(map->made_with));
    dbr_digest_add(&digest, e->path, strlen(e->path));
    dbr_digest_finish(&digest, hex);
}

/* A report that the upload, the program and its options would give again, and its page. */
static bool holds(const struct map *map, size_t at)
{
    char *json = report_path(map, at, ".json"), *html = report_path(map, at, ".html");
    char head[HEAD_BYTES + 1] = "", made_with[DBR_DIGEST_HEX_SIZE];
    FILE *file = json ? fopen(json, "rb") : NULL;

    if (file) {
        head[fread(head, 1, HEAD_BYTES, file)] = '\0';
        fclose(file);
    }
    mark_entry(map, &map->walk->entries[map->order[at]], made_with);
    bool same = strstr(head, made_with) && strstr(head, map->digests[at]) &&
                (strstr(head, "\"usable\":\tfalse") || (html && access(html, F_OK) == 0));
    free(json);
    free(html);
    return same;
}

/* Entries to hash: the piece of work is the digest of one, which the result brings back. */
static void hash(void *context, struct pool_result *result)
{
    const struct map *map = context;
    const struct walk_entry *e = &map->walk->entries[map->todo[result->piece]];
    struct dbr_error error;

    if (dbr_digest_file(openable(e->path), result->text, &error) == 0)
        return;
    const char *reason = strstr(error.text, ": cannot be ");
    fail(result, reason ? reason + 2 : error.text);
}

static void hashed(void *context, const struct pool_result *result)
{
    struct map *map = context;
    struct walk_entry *e = &map->walk->entries[map->todo[result->piece]];

    map->finished++;
    show(map, "reading", map->todo_count);
    if (result->failed || result->died)
        e->reason = strdup(result->text);
    else
        memcpy(e->sha256, result->text, sizeof e->sha256);
}

static bool has_changed(const struct walk_entry *e)
{
    struct stat status;
    struct file_state now;

    if (stat(e->path, &status) < 0)
        return true;
    now = file_state(&status);
    return !same_state(&now, &e->state);
}

/* The report of an upload, or why there is none, into the site. A moment's trouble (no memory, a
 * file that still grows) is not kept: the next run tries again. */
static int report_upload(const struct map *map, const struct walk_entry *e, struct request *r,
                         struct dbr_error *error)
{
    const char *path = openable(e->path);
    char made_with[DBR_DIGEST_HEX_SIZE];
    struct dbr_upload_mark mark = {.count = 1,
                                   .paths = &path,
                                   .sha256 = &e->sha256,
                                   .made_with = made_with};
    struct analysis a = {0};
    int status;

    mark_entry(map, e, made_with);
    bool changed = has_changed(e); /* into a pipe, perhaps, which must not be opened */
    bool usable = !changed && upload_allowed(&path, 1, error) == 0 &&
                  analysis_run(&a, r, &path, 1, error) == 0;
    if (changed || has_changed(e)) {
        status = dbr_error_set(error, DBR_ERROR_READ, "changed while it was read: run once more");
    } else if (usable) {
        a.report.upload = &mark;
        status = report_files(&a, r, &path, 1, error);
    } else {
        struct dbr_error reason = *error;
        if (reason.code == DBR_ERROR_MEMORY)
            mark.made_with = NULL;
        status = report_failure(r->json, &mark, reason.text, error);
    }
    analysis_release(&a);
    return status;
}

static void analyse(void *context, struct pool_result *result)
{
    const struct map *map = context;
    size_t at = map->todo[result->piece];
    char *json = report_path(map, at, ".json"), *html = report_path(map, at, ".html");
    struct request request = *map->request;
    struct dbr_error error = {.code = DBR_ERROR_NONE};

    request.json = json;
    request.html = html;
    request.quiet = true;
    if (!json || !html)
        fail(result, "out of memory");
    else if (report_upload(map, &map->walk->entries[map->order[at]], &request, &error) < 0) {
        fail(result, error.text);
        /* A disk that is full is no fault of the upload. */
        result->hopeless = error.code == DBR_ERROR_WRITE;
    }
    free(json);
    free(html);
}

/* Copies share the content, and so what became of it. NULL: there is a report. */
static void settle(struct map *map, size_t at, const char *reason)
{
    const char *content = map->digests[at];

    do {
        if (reason)
            map->walk->entries[map->order[at]].reason = strdup(reason);
        map->settled(map->context, at++);
    } while (at < map->walk->count && content[0] && strcmp(map->digests[at], content) == 0);
}

static void analysed(void *context, const struct pool_result *result)
{
    struct map *map = context;

    map->finished++;
    map->counts.analysed++;
    show(map, "analysed", map->todo_count);
    settle(map, map->todo[result->piece], result->failed || result->died ? result->text : NULL);
}

static const struct walk_entry *sorted_entries; /* for qsort, which hands nothing on */

static int by_content(const void *left, const void *right)
{
    const struct walk_entry *a = &sorted_entries[*(const size_t *)left];
    const struct walk_entry *b = &sorted_entries[*(const size_t *)right];
    int order = strcmp(a->sha256, b->sha256);

    return order ? order : strcmp(a->path, b->path);
}

static void choose_hashing(struct map *map)
{
    map->todo_count = map->finished = 0;
    for (size_t i = 0; i < map->walk->count; i++)
        if (!map->walk->entries[i].sha256[0])
            map->todo[map->todo_count++] = i;
}

static void sort_by_content(struct map *map)
{
    size_t count = map->walk->count;

    for (size_t i = 0; i < count; i++)
        map->order[i] = i;
    sorted_entries = map->walk->entries;
    qsort(map->order, count, sizeof *map->order, by_content);
    for (size_t i = 0; i < count; i++)
        map->digests[i] = map->walk->entries[map->order[i]].sha256;
}

/* The first of each content whose report does not hold any more. */
static void choose_analyses(struct map *map)
{
    map->todo_count = map->finished = 0;
    for (size_t i = 0; i < map->walk->count; i++) {
        if (!map->digests[i][0]) {
            settle(map, i, NULL); /* it has its reason */
        } else if (i > 0 && strcmp(map->digests[i], map->digests[i - 1]) == 0) {
            continue;
        } else if (holds(map, i)) {
            map->counts.kept++;
            settle(map, i, NULL);
        } else {
            map->todo[map->todo_count++] = i;
        }
    }
}

static int in_folder(struct map *map, struct dbr_error *error)
{
    struct pool pool = {.jobs = map->jobs,
                        .limit_s = map->limit_s,
                        .context = map,
                        .work = hash,
                        .done = hashed};

    if (!map->rehash)
        site_recall(map->site, map->walk);
    choose_hashing(map);
    pool.count = map->todo_count;
    if (pool_run(&pool, error) < 0 || site_remember(map->site, map->walk, error) < 0)
        return -1;
    sort_by_content(map);
    choose_analyses(map);
    pool.count = map->todo_count;
    pool.work = analyse;
    pool.done = analysed;
    return pool_run(&pool, error);
}

int map_run(struct map *map, struct dbr_error *error)
{
    size_t room = map->walk->count + 1;

    map->order = calloc(room, sizeof *map->order);
    map->todo = calloc(room, sizeof *map->todo);
    map->digests = calloc(room, sizeof *map->digests);
    if (!map->order || !map->todo || !map->digests)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    /* From here on paths are those below the folder: that is how reports show them. */
    if (sign(map, error) < 0)
        return -1;
    if (chdir(map->folder) < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: cannot be entered: %s", map->folder,
                             strerror(errno));
    return in_folder(map, error);
}

void map_release(struct map *map)
{
    free(map->order);
    free(map->todo);
    free(map->digests);
}
