/* inbox.h - what stays in memory of the uploads of an inbox (drawbar/inbox.h). */
#ifndef DRAWBAR_REPORTING_INBOX_H
#define DRAWBAR_REPORTING_INBOX_H

#include <cjson/cJSON.h>

#include "drawbar/diagnosis.h"
#include "drawbar/inbox.h"

#define INBOX_NAME_SIZE 17u /* a NAME: 16 hexadecimal digits; "" unknown */
#define INBOX_CODE_SIZE 48u
#define INBOX_NONE SIZE_MAX

/* All findings of one code in an upload. */
struct inbox_code {
    char code[INBOX_CODE_SIZE];
    enum dbr_severity severity; /* the worst */
    size_t count;
    bool root;
};

struct inbox_row {
    char *path;     /* harmless UTF-8 */
    char sha256[DBR_DIGEST_HEX_SIZE]; /* "" unknown */
    char id[DBR_DIGEST_HEX_SIZE];     /* "" where the content is unknown */
    char *error;    /* NULL: there is a report */
    char *sentence; /* of the verdict; NULL with an error */
    char *format, *implement_label, *tractor_label; /* NULL unknown */
    char machine[INBOX_NAME_SIZE], implement[INBOX_NAME_SIZE], tractor[INBOX_NAME_SIZE];
    double start, duration; /* s since 1970, s; NAN unknown */
    double frames, rejected; /* NAN unknown */
    enum dbr_worst worst;
    size_t code_count;
    struct inbox_code *codes; /* worst first, roots before others */
    size_t finding_count;
    long spool_at, spool_length; /* lines of its findings, each without "{" */
    size_t original; /* row with the same content and an earlier path; INBOX_NONE */
    size_t copies;   /* rows whose original this is */
    size_t histories; /* in which it stands */
    size_t next_copy; /* the first of them, then one after the other by path; INBOX_NONE */
    size_t page; /* digits in the name of its page; 0: there is none */
    bool out_of_memory; /* a text of its own could not be kept */
    bool again;      /* the very upload is there already */
};

/* A fault or warning in an upload, as histories compare them. */
struct inbox_event {
    size_t row;
    char code[INBOX_CODE_SIZE];
    char ecu[INBOX_NAME_SIZE]; /* NAME at its address, else the machine's */
    int32_t pgn, spn, fmi;     /* -1: none */
    enum dbr_severity severity;
    char *title;
};

/* The same fault in at least two uploads: events[first..first + count), in the order of time. */
struct inbox_history {
    size_t first, count;
    enum dbr_severity severity; /* the worst */
};

struct dbr_inbox {
    FILE *spool;
    long spooled;
    size_t row_count, row_room;
    struct inbox_row *rows;
    size_t *order; /* rows as they are shown; those that are there already left out */
    size_t order_count;
    char edition[DBR_DIGEST_HEX_SIZE]; /* of rows and their order: parts of other runs do not fit */
    size_t event_count, event_room;
    struct inbox_event *events;
    uint64_t events_beyond;
    char (*machines)[INBOX_NAME_SIZE]; /* of each upload that has one, sorted */
    size_t machine_count;
    size_t history_count;
    struct inbox_history *histories;
};

/* inbox_read.c: the lines of findings of a report, and its events. 0, or -1. */
int inbox_read_findings(struct dbr_inbox *inbox, size_t row, const cJSON *report,
                        struct dbr_error *error);

/* A harmless copy of a text that stays in memory, cut at DBR_INBOX_TEXT_MAX; NULL: no memory. */
char *inbox_kept(const char *text);

/* Room for one more in a list; false where memory is out. */
bool inbox_room(void **list, size_t count, size_t *room, size_t item);

/* The NAME at an address; "" unknown. `label`, where not NULL, gets the text or NULL. */
const char *inbox_name_at(const cJSON *report, const char *interface, int address,
                          const char **label);

/* inbox_history.c */
int inbox_find_histories(struct dbr_inbox *inbox);

/* How many uploads there are of a machine. */
size_t inbox_machine_uploads(const struct dbr_inbox *inbox, const char *machine);

/* Members of a JSON object that may be missing or of another type. */
const char *inbox_text(const cJSON *object, const char *key); /* NULL */
double inbox_number(const cJSON *object, const char *key);    /* NAN */
int32_t inbox_whole(const cJSON *object, const char *key);    /* -1 */

/* "2024-06-10T08:13:20.5Z", or "" where it is unknown; ms where `digits` is 3. Returns out. */
#define INBOX_STAMP_SIZE 40u
const char *inbox_stamp(char out[INBOX_STAMP_SIZE], double start, unsigned digits);

const char *inbox_worst_name(enum dbr_worst worst);

#endif
