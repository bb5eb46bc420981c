/* inbox_site.h - the folder that drawbar inbox writes. */
#ifndef DRAWBAR_COMMANDS_INBOX_SITE_H
#define DRAWBAR_COMMANDS_INBOX_SITE_H

#include "commands/inbox_walk.h"
#include "drawbar/reporting.h"

struct site {
    char *path; /* absolute */
    int lock;   /* held open: one run at a time; -1 */
};

/* Makes the folder where it is not there, keeps other runs out, and removes what a killed one left
 * half written. */
int site_open(struct site *site, const char *path, struct dbr_error *error);
void site_close(struct site *site);

/* SITE/NAME, and SITE/reports/ID.SUFFIX; the caller frees them. NULL: no memory. */
char *site_file(const struct site *site, const char *name);
char *site_report(const struct site *site, const char *sha256, size_t id_length,
                  const char *suffix);

/* Digests out of SITE/.seen of files whose state has not changed since. */
void site_recall(const struct site *site, struct walk *walk);
/* Writes .seen for the next run. */
int site_remember(const struct site *site, const struct walk *walk, struct dbr_error *error);

/* A whole file as text with a NUL, which the caller frees; NULL where it cannot be read: errno is
 * EFBIG where it has more than `most` bytes, ENOMEM where there is no memory for it. */
char *read_text(const char *path, size_t most);

#endif
