/* inbox_reduce.h - from reports to the index and the lines of a site. */
#ifndef DRAWBAR_COMMANDS_INBOX_REDUCE_H
#define DRAWBAR_COMMANDS_INBOX_REDUCE_H

#include "commands/inbox_map.h"
#include "drawbar/inbox.h"

struct reduce {
    const struct site *site;
    struct dbr_inbox *inbox;
    FILE *spool;
    uint64_t strangers;  /* files among the reports that are none */
    uint64_t too_large;  /* beyond DBR_INBOX_REPORT_MAX or _VALUES_MAX: not read */
    bool failed;         /* `error` says why; nothing more is added */
    struct dbr_error error;
};

int reduce_begin(struct reduce *reduce, const struct site *site, struct dbr_error *error);
void reduce_release(struct reduce *reduce);

/* Takes what became of an entry of the map step (`settled`, inbox_map.h). A failure shows at the
 * end. */
void reduce_take(struct reduce *reduce, const struct map *map, size_t at);

/* Takes all reports of a folder, whoever made them; what is none is counted. 0, or -1. */
int reduce_folder(struct reduce *reduce, const char *folder, const struct walk *walk,
                  struct dbr_error *error);

/* Writes lines and pages. The index comes last: what it speaks of is there. 0, or -1. */
int reduce_finish(struct reduce *reduce, struct dbr_error *error);

#endif
