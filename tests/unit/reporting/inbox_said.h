/*
 * inbox_said.h - an inbox of reports that are told in a few words, and what is written of it.
 */
#ifndef TESTS_UNIT_REPORTING_INBOX_SAID_H
#define TESTS_UNIT_REPORTING_INBOX_SAID_H

#include "drawbar/inbox.h"
#include "reporting/inbox.h"

#define SPREADER "A00A8000FFE00FE7"
#define OTHER_SPREADER "A00A8000FFE00FE8"
#define CONTROLLER "A0000F0000200001"

#define LOST(address)                                                                              \
    "{\"code\":\"speed-lost\",\"severity\":\"fault\",\"interface\":\"can0\",\"address\":" address  \
    ",\"title\":\"T\"}"
#define LOADED "{\"code\":\"bus-load-high\",\"severity\":\"warning\",\"title\":\"L\"}"
#define ECUS(spreader)                                                                             \
    "{\"interface\":\"can0\",\"address\":128,\"name\":\"" spreader "\",\"label\":\"Spreader\"},"   \
    "{\"interface\":\"can0\",\"address\":9,\"name\":\"" CONTROLLER "\"}"
#define CHAIN "{\"interface\":\"can0\",\"implement\":128}"

/* What a report says; what is NULL or 0 has the least that a report may have. */
struct said {
    const char *path, *ecus, *chain, *findings, *roots, *sha256;
    double start, duration; /* < 0: unknown */
};

/* The report as JSON, which the caller frees. */
char *said_report(const struct said *s);

/* An inbox without uploads; one with those of the list, each of a content of its own unless it says
 * which. */
struct dbr_inbox *said_nothing(void);
struct dbr_inbox *said_all(const struct said *list, size_t count);
void said_leave(struct dbr_inbox *inbox);

/* Lines, and the first page of a list; the caller frees them. */
typedef int said_writer(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error);
char *said_lines(const struct dbr_inbox *inbox, said_writer *lines);
char *said_page(const struct dbr_inbox *inbox, enum dbr_inbox_list list);

/* How often a part is in a text. */
size_t said_times(const char *text, const char *part);

#endif
