/* inbox_reduce.c - see inbox_reduce.h. */
#include "commands/inbox_reduce.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/output.h"

#define TOO_LARGE "its report is larger than an inbox reads"

static bool exists(const char *path)
{
    return path && access(path, F_OK) == 0;
}

int reduce_begin(struct reduce *r, const struct site *site, struct dbr_error *error)
{
    r->site = site;
    r->spool = tmpfile();
    if (!r->spool)
        return dbr_error_set(error, DBR_ERROR_WRITE, "no temporary file can be made: %s",
                             strerror(errno));
    r->inbox = dbr_inbox_new(r->spool, error);
    return r->inbox ? 0 : -1;
}

void reduce_release(struct reduce *r)
{
    dbr_inbox_free(r->inbox);
    if (r->spool)
        fclose(r->spool);
}

/* A report that the map step of this run or of an earlier one left. */
static int add_own(struct reduce *r, const struct dbr_inbox_upload *upload, struct dbr_error *error)
{
    struct dbr_inbox_upload broken = *upload;
    int status = dbr_inbox_add(r->inbox, upload, error);

    if (status != 1)
        return status;
    broken.json = NULL;
    broken.reason = error->code == DBR_ERROR_LIMIT
                        ? TOO_LARGE
                        : "its report in the site cannot be read: remove it and run once more";
    return dbr_inbox_add(r->inbox, &broken, error);
}

void reduce_take(struct reduce *r, const struct map *map, size_t at)
{
    const struct walk_entry *e = &map->walk->entries[map->order[at]];
    size_t length = map_id_length(map, at);

    if (r->failed)
        return;
    char *json = site_report(r->site, e->sha256, length, ".json");
    char *html = site_report(r->site, e->sha256, length, ".html");
    errno = 0;
    char *text = length > 0 && !e->reason && json ? read_text(json, DBR_INBOX_REPORT_MAX) : NULL;
    bool no_memory = !json || !html || (!text && errno == ENOMEM);
    const char *why_not = errno == EFBIG ? TOO_LARGE : "its report cannot be read";
    struct dbr_inbox_upload upload = {
        .path = e->path,
        .sha256 = e->sha256,
        .json = text,
        .reason = e->reason ? e->reason : why_not,
        .page = exists(html) ? length : 0,
    };
    r->failed = no_memory
                    ? dbr_error_set(&r->error, DBR_ERROR_MEMORY, "out of memory") < 0
                    : add_own(r, &upload, &r->error) < 0;
    free(text);
    free(json);
    free(html);
}

/* The page of a report that came from elsewhere may be in the site by either name, or not. */
static size_t find_page(const struct reduce *r, const char *text)
{
    static const size_t lengths[] = {DBR_DIGEST_HEX_SIZE - 1, DBR_INBOX_ID_DIGITS};
    static const char key[] = "\"sha256\":";
    const char *at = strstr(text, key);

    at = at ? strchr(at + sizeof key - 1, '"') : NULL;
    if (!at || strspn(at + 1, "0123456789abcdef") != DBR_DIGEST_HEX_SIZE - 1)
        return 0;
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        char *path = site_report(r->site, at + 1, lengths[i], ".html");
        bool there = exists(path);
        free(path);
        if (there)
            return lengths[i];
    }
    return 0;
}

/* Of a file that cannot be a report nothing is added. */
static int take_file(struct reduce *r, const char *path, struct dbr_error *error)
{
    errno = 0;
    char *text = read_text(path, DBR_INBOX_REPORT_MAX);
    if (!text && errno == ENOMEM)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    bool too_large = !text && errno == EFBIG;
    struct dbr_inbox_upload upload = {.json = text, .page = text ? find_page(r, text) : 0};
    int status = text ? dbr_inbox_add(r->inbox, &upload, error) : 1;

    free(text);
    if (status == 1 && (too_large || (upload.json && error->code == DBR_ERROR_LIMIT)))
        r->too_large++;
    else if (status == 1)
        r->strangers++;
    return status < 0 ? -1 : 0;
}

int reduce_folder(struct reduce *r, const char *folder, const struct walk *walk,
                  struct dbr_error *error)
{
    int status = 0;

    for (size_t i = 0; status == 0 && i < walk->count; i++) {
        char path[2 * DBR_INBOX_PATH_MAX];
        const char *name = walk->entries[i].path, *dot = strrchr(name, '.');
        if (dot && strcmp(dot, ".html") == 0)
            continue; /* the pages of these reports, where both are in one folder */
        snprintf(path, sizeof path, "%s/%s", folder, name);
        status = take_file(r, path, error);
    }
    return status;
}

/* What to write: lines, or part `number` of a list: a page, or its rows. */
struct writing {
    int (*lines)(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error);
    int (*part)(FILE *out, const struct dbr_inbox *inbox, enum dbr_inbox_list list, size_t number,
                struct dbr_error *error);
    const char *(*name)(char out[DBR_INBOX_NAME_SIZE], enum dbr_inbox_list list, size_t number);
    enum dbr_inbox_list list;
    size_t number;
};

static int write_file(const struct reduce *r, const char *name, const struct writing *w,
                      struct dbr_error *error)
{
    char *path = site_file(r->site, name);
    struct output output;

    if (!path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    int status = output_open(&output, path, error);
    if (status == 0) {
        status = w->lines ? w->lines(output.file, r->inbox, error)
                          : w->part(output.file, r->inbox, w->list, w->number, error);
        status = status < 0 ? output_fail(&output, error) : output_commit(&output, error);
    }
    free(path);
    return status;
}

/* `count` parts. Those that an earlier run had beyond them go. */
static int write_parts(const struct reduce *r, struct writing *w, size_t count,
                       struct dbr_error *error)
{
    char name[DBR_INBOX_NAME_SIZE];
    bool more = true;

    for (w->number = 1; w->number <= count; w->number++)
        if (write_file(r, w->name(name, w->list, w->number), w, error) < 0)
            return -1;
    for (size_t i = count + 1; more; i++) {
        char *path = site_file(r->site, w->name(name, w->list, i));
        more = path && unlink(path) == 0;
        free(path);
    }
    return 0;
}

/* The pages of a list and, where there are several, the rows by which they know of each other. */
static int write_pages(const struct reduce *r, enum dbr_inbox_list list, struct dbr_error *error)
{
    size_t count = dbr_inbox_pages(r->inbox, list);
    struct writing rows = {.part = dbr_inbox_rows, .name = dbr_inbox_rows_name, .list = list};
    struct writing pages = {.part = dbr_inbox_page, .name = dbr_inbox_page_name, .list = list};

    if (write_parts(r, &rows, count > 1 ? count : 0, error) < 0)
        return -1;
    return write_parts(r, &pages, count, error);
}

int reduce_finish(struct reduce *r, struct dbr_error *error)
{
    static const struct writing findings = {.lines = dbr_inbox_findings};
    static const struct writing uploads = {.lines = dbr_inbox_uploads};

    if (r->failed) {
        *error = r->error;
        return -1;
    }
    if (dbr_inbox_order(r->inbox, error) < 0 ||
        write_file(r, "findings.ndjson", &findings, error) < 0 ||
        write_file(r, "uploads.ndjson", &uploads, error) < 0 ||
        write_pages(r, DBR_INBOX_HISTORY, error) < 0)
        return -1;
    return write_pages(r, DBR_INBOX_INDEX, error);
}
