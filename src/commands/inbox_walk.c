/* inbox_walk.c - see inbox_walk.h. */
#include "commands/inbox_walk.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/limits.h"

struct names {
    size_t count, room;
    char **items;
};

/* On the way through the folders. */
struct walking {
    struct walk *walk;
    struct stat site;
    bool has_site;
    size_t below; /* length of the folder's own path and the slash after it */
    char path[2 * DBR_INBOX_PATH_MAX];
};

struct file_state file_state(const struct stat *status)
{
    return (struct file_state){
        .size = status->st_size,
        .modified_ns = status->st_mtim.tv_sec * INT64_C(1000000000) + status->st_mtim.tv_nsec,
        .changed_ns = status->st_ctim.tv_sec * INT64_C(1000000000) + status->st_ctim.tv_nsec,
    };
}

bool same_state(const struct file_state *a, const struct file_state *b)
{
    return a->size == b->size && a->modified_ns == b->modified_ns &&
           a->changed_ns == b->changed_ns;
}

static int by_bytes(const void *left, const void *right)
{
    return strcmp(*(char *const *)left, *(char *const *)right);
}

static void names_release(struct names *names)
{
    for (size_t i = 0; i < names->count; i++)
        free(names->items[i]);
    free(names->items);
}

static bool names_add(struct names *names, const char *name)
{
    if (names->count == names->room) {
        size_t room = names->room > 0 ? 2 * names->room : 64;
        char **larger = realloc(names->items, room * sizeof(char *));
        if (!larger)
            return false;
        names->items = larger;
        names->room = room;
    }
    names->items[names->count] = strdup(name);
    return names->items[names->count] && ++names->count;
}

/* -1: no memory; 1: the folder cannot be read. */
static int read_names(struct names *names, const char *folder)
{
    DIR *dir = opendir(folder);
    const struct dirent *entry;
    int status = 0;

    if (!dir)
        return errno == ENOMEM ? -1 : 1;
    while (status == 0 && names->count <= DBR_INBOX_UPLOADS_MAX && (errno = 0, entry = readdir(dir)))
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            status = names_add(names, entry->d_name) ? 0 : -1;
    if (status == 0 && errno != 0) /* it ended before its end */
        status = 1;
    closedir(dir);
    if (names->count > 0)
        qsort(names->items, names->count, sizeof(char *), by_bytes);
    return status;
}

static int add_file(struct walking *w, const struct stat *status, struct dbr_error *error)
{
    struct walk *walk = w->walk;

    if (walk->count >= DBR_INBOX_UPLOADS_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "more than %u files: divide the folder",
                             DBR_INBOX_UPLOADS_MAX);
    if (walk->count == walk->room) {
        size_t room = walk->room > 0 ? 2 * walk->room : 64;
        struct walk_entry *larger = realloc(walk->entries, room * sizeof *larger);
        if (!larger)
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        walk->entries = larger;
        walk->room = room;
    }
    struct walk_entry *entry = &walk->entries[walk->count];
    *entry = (struct walk_entry){.path = strdup(w->path + w->below), .state = file_state(status)};
    if (!entry->path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    walk->count++;
    return 0;
}

static int enter(struct walking *w, unsigned depth, struct dbr_error *error);

/* The file or folder at w->path. */
static int visit(struct walking *w, unsigned depth, struct dbr_error *error)
{
    struct stat status;

    if (lstat(w->path, &status) < 0) {
        w->walk->unread += errno != ENOENT; /* else gone since the folder was read */
        return 0;
    }
    bool link = S_ISLNK(status.st_mode);
    if (link && (stat(w->path, &status) < 0 || S_ISDIR(status.st_mode))) {
        w->walk->links++;
        return 0;
    }
    if (S_ISREG(status.st_mode))
        return add_file(w, &status, error);
    if (!S_ISDIR(status.st_mode)) {
        w->walk->special++;
        return 0;
    }
    if (w->has_site && status.st_dev == w->site.st_dev && status.st_ino == w->site.st_ino)
        return 0;
    return enter(w, depth + 1, error);
}

static int enter(struct walking *w, unsigned depth, struct dbr_error *error)
{
    struct names names = {0};
    size_t length = strlen(w->path);
    int status = depth > DBR_INBOX_DEPTH_MAX ? 1 : read_names(&names, w->path);

    if (status < 0)
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    if (status > 0 && depth == 0)
        status = dbr_error_set(error, DBR_ERROR_OPEN, "%s: cannot be read: %s", w->path,
                               strerror(errno));
    if (status > 0) {
        w->walk->unread++;
        status = 0;
    }
    for (size_t i = 0; status == 0 && i < names.count; i++) {
        if (length + 1 + strlen(names.items[i]) - w->below >= DBR_INBOX_PATH_MAX) {
            w->walk->unread++;
            continue;
        }
        snprintf(w->path + length, sizeof w->path - length, "/%s", names.items[i]);
        status = visit(w, depth, error);
        w->path[length] = '\0';
    }
    names_release(&names);
    return status;
}

int walk_folder(struct walk *walk, const char *folder, const char *site, struct dbr_error *error)
{
    struct walking w = {.walk = walk};
    size_t length = strlen(folder);

    *walk = (struct walk){0};
    if (length >= DBR_INBOX_PATH_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "%s: the path is too long", folder);
    w.has_site = site && stat(site, &w.site) == 0;
    w.below = length + 1;
    memcpy(w.path, folder, length);
    return enter(&w, 0, error);
}

void walk_release(struct walk *walk)
{
    for (size_t i = 0; i < walk->count; i++) {
        free(walk->entries[i].path);
        free(walk->entries[i].reason);
    }
    free(walk->entries);
}
