/* inbox_walk.h - the files below a folder. */
#ifndef DRAWBAR_COMMANDS_INBOX_WALK_H
#define DRAWBAR_COMMANDS_INBOX_WALK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/stat.h>

#include "drawbar/digest.h"
#include "drawbar/error.h"

/* What tells a file from a later state of it, without reading it. */
struct file_state {
    int64_t size, modified_ns, changed_ns;
};

struct walk_entry {
    char *path; /* below the folder, as the system has it: any bytes but NUL */
    struct file_state state;
    char sha256[DBR_DIGEST_HEX_SIZE]; /* "" not known yet, or cannot be read */
    char *reason; /* why there is no report of it; NULL */
};

struct walk {
    size_t count, room;
    struct walk_entry *entries;
    uint64_t links;   /* to folders, or to nothing: not followed */
    uint64_t special; /* pipes, sockets, devices: not opened */
    uint64_t unread;  /* folders that cannot be read, lie too deep or have too long a path */
};

struct file_state file_state(const struct stat *status);
bool same_state(const struct file_state *a, const struct file_state *b);

/* All files below `folder` (absolute, without a slash at its end), in the byte order of names; the
 * folder `site` (NULL: none) left out. 0, or -1: the folder itself cannot be read, too many files,
 * no memory. */
int walk_folder(struct walk *walk, const char *folder, const char *site, struct dbr_error *error);
void walk_release(struct walk *walk);

#endif
