/*
 * inbox.h - many reports as one: which uploads matter, what came back on which machine.
 *
 *     inbox = dbr_inbox_new(spool, &error);
 *     for each upload: dbr_inbox_add(inbox, &upload, &error);   // in any order
 *     dbr_inbox_order(inbox, &error);
 *     dbr_inbox_uploads(out, inbox, &error); ...
 *
 * The result depends on the reports alone, not on the order in which they came. Of a report only
 * some lines stay in memory; its findings wait in `spool`, a file that the caller opened for
 * reading and writing, keeps open until dbr_inbox_free, and closes.
 */
#ifndef DRAWBAR_INBOX_H
#define DRAWBAR_INBOX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "drawbar/api.h"
#include "drawbar/digest.h"
#include "drawbar/error.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

/* How bad an upload is, least first. */
enum dbr_worst {
    DBR_WORST_NONE,     /* nothing was found */
    DBR_WORST_NOTE,
    DBR_WORST_UNUSABLE, /* no report: somebody must look at the upload itself */
    DBR_WORST_WARNING,
    DBR_WORST_FAULT
};

struct dbr_inbox_upload {
    const char *path;   /* relative to the folder of uploads; NULL: as the report has it */
    const char *sha256; /* of its content; NULL: as the report has it; "" not known */
    const char *json;   /* its report or failure (reporting.h), with a NUL; NULL: none */
    const char *reason; /* where json is NULL: why there is none */
    size_t page;        /* digits of ID where there is a page reports/ID.html of it; 0: none */
};

struct dbr_inbox_totals {
    uint64_t uploads;    /* by content; copies are not counted again */
    uint64_t copies;
    uint64_t by_worst[DBR_WORST_FAULT + 1];
    uint64_t findings;
    uint64_t histories;  /* findings that came at least twice on a machine */
    uint64_t events_beyond; /* findings that no history knows of: DBR_INBOX_EVENTS_MAX */
};

struct dbr_inbox;

struct dbr_inbox *dbr_inbox_new(FILE *spool, struct dbr_error *error);
void dbr_inbox_free(struct dbr_inbox *inbox);

/*
 * 0; -1 after an error; 1 where nothing was added, and the error says why: the JSON is no report of
 * this program, or (DBR_ERROR_LIMIT) has more bytes or values than the ceilings of limits.h.
 */
int dbr_inbox_add(struct dbr_inbox *inbox, const struct dbr_inbox_upload *upload,
                  struct dbr_error *error);

/* Once, after the last upload and before what follows. */
int dbr_inbox_order(struct dbr_inbox *inbox, struct dbr_error *error);
void dbr_inbox_totals(const struct dbr_inbox *inbox, struct dbr_inbox_totals *totals);

/* One flat object a line: a line an upload, copies too; a line a finding, copies left out. */
int dbr_inbox_uploads(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error);
int dbr_inbox_findings(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error);

/*
 * Pages of at most DBR_INBOX_PAGE_ROWS rows each: the uploads, worst first, and the histories. They
 * link to each other and to reports/ID.html by these names; read with scripts off; make no request.
 */
enum dbr_inbox_list { DBR_INBOX_INDEX, DBR_INBOX_HISTORY };

size_t dbr_inbox_pages(const struct dbr_inbox *inbox, enum dbr_inbox_list list); /* at least 1 */
#define DBR_INBOX_NAME_SIZE 40u
/* "index.html", "index-2.html", ..., "history.html", ...: `number` counts from 1. Returns out. */
const char *dbr_inbox_page_name(char out[DBR_INBOX_NAME_SIZE], enum dbr_inbox_list list,
                                size_t number);
int dbr_inbox_page(FILE *out, const struct dbr_inbox *inbox, enum dbr_inbox_list list,
                   size_t number, struct dbr_error *error);

/*
 * The rows of page `number` again, as a script: where there are several pages each of them takes in
 * those of the others by "index-rows-1.js", ..., once somebody filters or sorts. A page that is
 * opened as a file can read no other file in another way.
 */
const char *dbr_inbox_rows_name(char out[DBR_INBOX_NAME_SIZE], enum dbr_inbox_list list,
                                size_t number);
int dbr_inbox_rows(FILE *out, const struct dbr_inbox *inbox, enum dbr_inbox_list list,
                   size_t number, struct dbr_error *error);

/*
 * The name of the page of content in reports/: 16 digits, or all 64 where two uploads share 16.
 * `digests` are `count` in the order of strcmp; `at` is one of them.
 */
size_t dbr_inbox_id_length(const char *const *digests, size_t count, size_t at);
#define DBR_INBOX_ID_DIGITS 16u

DBR_API_END

#endif
