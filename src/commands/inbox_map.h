/* inbox_map.h - from uploads to a report each: the part of drawbar inbox that takes time. */
#ifndef DRAWBAR_COMMANDS_INBOX_MAP_H
#define DRAWBAR_COMMANDS_INBOX_MAP_H

#include "commands/analysis.h"
#include "commands/inbox_site.h"

struct map_counts {
    uint64_t analysed, kept; /* contents: now, and by an earlier run */
};

struct map {
    const struct request *request;
    const struct site *site;
    struct walk *walk;
    const char *folder; /* absolute: of the uploads */
    unsigned jobs;
    unsigned limit_s; /* of one upload */
    /* Hears of every entry, once, as soon as it is known what became of it: a report in the site, or
     * a reason. Others are still being analysed then. `at` counts in map->order. */
    void (*settled)(void *context, size_t at);
    void *context;
    bool rehash; /* trust no file's size and times */
    char made_with[DBR_DIGEST_HEX_SIZE]; /* of the program and its options */
    size_t *order;      /* entries in the order of content and path */
    const char **digests; /* in the same order */
    size_t *todo;       /* entries whose content is to be analysed */
    size_t todo_count, finished;
    struct map_counts counts;
};

/*
 * Leaves reports/ID.json of every content in the site, with a page beside it where there is a
 * report, and the digest or a reason in every entry. A process that dies costs one upload.
 */
int map_run(struct map *map, struct dbr_error *error);
void map_release(struct map *map);

/* The entry's ID has so many digits; 0: its content is not known. `at` counts in map->order. */
size_t map_id_length(const struct map *map, size_t at);

#endif
