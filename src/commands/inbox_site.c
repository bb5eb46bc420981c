/* inbox_site.c - see inbox_site.h. */
#include "commands/inbox_site.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/output.h"
#include "drawbar/inbox.h"

#define SEEN ".seen"
#define SEEN_HEAD "drawbar-seen/1\n"
#define SEEN_BYTES_MAX (DBR_INBOX_UPLOADS_MAX * 512u)
#define RANDOM_LETTERS 7u /* of a temporary file, with the dot before them (output.c) */

static char *joined(const char *folder, const char *name, const char *suffix)
{
    size_t size = strlen(folder) + strlen(name) + strlen(suffix) + 2;
    char *path = malloc(size);

    if (path)
        snprintf(path, size, "%s/%s%s", folder, name, suffix);
    return path;
}

char *site_file(const struct site *site, const char *name)
{
    return joined(site->path, name, "");
}

char *site_report(const struct site *site, const char *sha256, size_t id_length,
                  const char *suffix)
{
    char name[sizeof "reports/" + DBR_DIGEST_HEX_SIZE];

    snprintf(name, sizeof name, "reports/%.*s", (int)id_length, sha256);
    return joined(site->path, name, suffix);
}

static int make_folder(const char *path, struct dbr_error *error)
{
    if (mkdir(path, 0777) == 0 || errno == EEXIST)
        return 0;
    return dbr_error_set(error, DBR_ERROR_WRITE, "%s: cannot be made: %s", path, strerror(errno));
}

/* "index-2.html", "history-rows-1.js" and their like. */
static bool is_list_part(const char *name, size_t length)
{
    static const char *const heads[] = {"index", "history"}, *const ends[] = {".html", ".js"};

    for (size_t i = 0; i < 4; i++) {
        size_t head = strlen(heads[i / 2]), end = strlen(ends[i % 2]);
        if (length >= head + end && strncmp(name, heads[i / 2], head) == 0 &&
            strncmp(name + length - end, ends[i % 2], end) == 0)
            return true;
    }
    return false;
}

static bool is_site_file(const char *name, size_t length)
{
    static const char *const names[] = {"findings.ndjson", "uploads.ndjson", SEEN};
    size_t digits = strspn(name, "0123456789abcdef");

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strlen(names[i]) == length && strncmp(names[i], name, length) == 0)
            return true;
    return is_list_part(name, length) ||
           (digits >= DBR_INBOX_ID_DIGITS && digits < length && name[digits] == '.');
}

/* What a killed run was writing. Nothing else in the folder is touched. */
static void remove_halves(const char *folder)
{
    DIR *dir = opendir(folder);
    const struct dirent *entry;

    if (!dir)
        return;
    while ((entry = readdir(dir))) {
        size_t length = strlen(entry->d_name);
        if (length > RANDOM_LETTERS && entry->d_name[length - RANDOM_LETTERS] == '.' &&
            is_site_file(entry->d_name, length - RANDOM_LETTERS))
            unlinkat(dirfd(dir), entry->d_name, 0);
    }
    closedir(dir);
}

static int take_lock(struct site *site, struct dbr_error *error)
{
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    char *path = site_file(site, ".lock");

    site->lock = path ? open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666) : -1;
    free(path);
    if (site->lock < 0)
        return dbr_error_set(error, DBR_ERROR_WRITE, "%s: cannot be written: %s", site->path,
                             strerror(errno));
    if (fcntl(site->lock, F_SETLK, &lock) < 0 && (errno == EACCES || errno == EAGAIN))
        return dbr_error_set(error, DBR_ERROR_USAGE, "%s: another run is writing it", site->path);
    return 0; /* where the file system knows no locks nobody is kept out */
}

int site_open(struct site *site, const char *path, struct dbr_error *error)
{
    *site = (struct site){.lock = -1};
    if (make_folder(path, error) < 0)
        return -1;
    site->path = realpath(path, NULL);
    char *reports = site->path ? site_file(site, "reports") : NULL;
    int status = reports ? make_folder(reports, error)
                         : dbr_error_set(error, DBR_ERROR_WRITE, "%s: cannot be used: %s", path,
                                         strerror(errno));
    if (status == 0)
        status = take_lock(site, error);
    if (status == 0) {
        remove_halves(site->path);
        remove_halves(reports);
    }
    free(reports);
    return status;
}

void site_close(struct site *site)
{
    if (site->lock >= 0)
        close(site->lock);
    free(site->path);
}

char *read_text(const char *path, size_t most)
{
    int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat status;
    char *text = NULL;
    size_t size = 0;

    if (descriptor >= 0 && fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode)) {
        size = (size_t)status.st_size;
        errno = EFBIG;
        text = (uint64_t)status.st_size <= most ? malloc(size + 1) : NULL;
    }
    for (size_t at = 0; text && at < size;) {
        ssize_t count = read(descriptor, text + at, size - at);
        if (count == 0)
            size = at; /* shorter than it was a moment ago */
        else if (count > 0)
            at += (size_t)count;
        else if (errno != EINTR) {
            free(text);
            text = NULL;
        }
    }
    if (text)
        text[size] = '\0';
    if (descriptor >= 0)
        close(descriptor);
    return text;
}

/* "DIGEST SIZE MODIFIED CHANGED PATH" and a NUL, in the byte order of paths; false where it is not. */
static bool read_seen(const char *record, struct walk_entry *seen)
{
    int at = 0;

    if (sscanf(record, "%64[0-9a-f] %" SCNd64 " %" SCNd64 " %" SCNd64 "%n", seen->sha256,
               &seen->state.size, &seen->state.modified_ns, &seen->state.changed_ns, &at) != 4 ||
        strlen(seen->sha256) != DBR_DIGEST_HEX_SIZE - 1 || at == 0 || record[at] != ' ')
        return false;
    seen->path = (char *)(uintptr_t)record + at + 1;
    return true;
}

static int by_path(const void *left, const void *right)
{
    const struct walk_entry *a = *(struct walk_entry *const *)left;
    const struct walk_entry *b = *(struct walk_entry *const *)right;
    return strcmp(a->path, b->path);
}

static void recall(struct walk_entry **sorted, size_t count, const char *record)
{
    struct walk_entry seen = {0}, *key = &seen;

    if (!read_seen(record, &seen))
        return;
    struct walk_entry **found = bsearch(&key, sorted, count, sizeof(struct walk_entry *), by_path);
    if (found && same_state(&(*found)->state, &seen.state))
        memcpy((*found)->sha256, seen.sha256, sizeof seen.sha256);
}

void site_recall(const struct site *site, struct walk *walk)
{
    char *path = site_file(site, SEEN);
    char *text = path ? read_text(path, SEEN_BYTES_MAX) : NULL;
    struct walk_entry **sorted = calloc(walk->count + 1, sizeof(struct walk_entry *));
    struct stat status;

    if (text && sorted && stat(path, &status) == 0 &&
        strncmp(text, SEEN_HEAD, sizeof SEEN_HEAD - 1) == 0) {
        for (size_t i = 0; i < walk->count; i++)
            sorted[i] = &walk->entries[i];
        qsort(sorted, walk->count, sizeof(struct walk_entry *), by_path);
        const char *end = text + status.st_size;
        for (const char *at = text + sizeof SEEN_HEAD - 1; at < end; at += strlen(at) + 1)
            recall(sorted, walk->count, at);
    }
    free(sorted);
    free(text);
    free(path);
}

int site_remember(const struct site *site, const struct walk *walk, struct dbr_error *error)
{
    char *path = site_file(site, SEEN);
    struct output output;

    if (!path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    int status = output_open(&output, path, error);
    if (status == 0) {
        fputs(SEEN_HEAD, output.file);
        for (size_t i = 0; i < walk->count; i++) {
            const struct walk_entry *e = &walk->entries[i];
            if (e->sha256[0])
                fprintf(output.file, "%s %" PRId64 " %" PRId64 " %" PRId64 " %s%c", e->sha256,
                        e->state.size, e->state.modified_ns, e->state.changed_ns, e->path, '\0');
        }
        if (fflush(output.file) != 0 || ferror(output.file)) {
            status = dbr_error_set(error, DBR_ERROR_WRITE, "%s: cannot be written: %s", path,
                                   strerror(errno));
            output_abandon(&output);
        } else {
            status = output_commit(&output, error);
        }
    }
    free(path);
    return status;
}
