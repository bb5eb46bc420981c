/*
 * troubles.h - what ECUs told about their own faults over a recording, and who asked them to
 * forget it or to be silent.
 *
 * Part of the history (tracking.h). Times are ns since the first frame; they mean nothing where
 * the recording has no stamps (dbr_history.timed), but order and counts do.
 */
#ifndef DRAWBAR_TROUBLES_H
#define DRAWBAR_TROUBLES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/trouble_code.h"

DBR_API_BEGIN

enum dbr_trouble_end {
    DBR_TROUBLE_STAYS,  /* in the last list that its ECU sent, and that came when it was due */
    DBR_TROUBLE_GONE,   /* a list without it came */
    DBR_TROUBLE_UNTOLD, /* lists stopped while the ECU went on: not active any more, or not told */
    DBR_TROUBLE_UNKNOWN /* its ECU fell silent, or the recording has no stamps */
};

/* One code of one ECU, by SPN, FMI and conversion method; active and previously active apart. */
struct dbr_trouble {
    uint8_t interface, address;
    bool previously;              /* told by DM2, previously active; else by DM1, active */
    struct dbr_trouble_code code; /* as last reported */
    const char *spn_words;        /* dbr_spn_words; NULL also where the SPN is not certain */
    uint64_t reports;             /* lists that it stood in */
    int64_t first_ns, last_ns;
    uint8_t first_count;          /* occurrences at first; at last: code.count */
    struct dbr_lamps lamps;       /* worst of each: on, error, off, not available */
    bool alone;                   /* never beside another code: the lamps are about it */
    bool from_start;              /* there since its ECU was first heard: when it came is unknown */
    uint64_t returns;             /* how often it came back after a list without it */
    int64_t returned_ns;          /* the last time; -1: never */
    enum dbr_trouble_end end;
    int64_t gone_ns;              /* the last list without it after one with it; -1: none */
};

/* An ECU that sends DM1. */
struct dbr_trouble_sender {
    uint8_t interface, address;
    uint64_t lists;     /* whole DM1 */
    uint64_t malformed; /* too short to say anything, or with bytes left over */
    int64_t first_ns, last_ns;
    bool told_none;     /* at least once it said that no fault is active */
    bool told_codes;    /* at least once it named one */
    struct dbr_lamps lamps; /* worst of each */
};

enum dbr_clear_kind {
    DBR_CLEAR_PREVIOUS /* DM3 */,
    DBR_CLEAR_ACTIVE /* DM11 */,
    DBR_CLEAR_ONE /* DM22 */
};

enum dbr_clear_answer { /* the first four as in the acknowledgement (SAE J1939-21 5.4.4) */
    DBR_CLEAR_DONE,
    DBR_CLEAR_REFUSED,
    DBR_CLEAR_DENIED,
    DBR_CLEAR_BUSY, /* cannot respond now */
    DBR_CLEAR_UNANSWERED
};

/* Somebody asked for trouble codes to be cleared. */
struct dbr_trouble_clear {
    uint8_t interface, requester, address; /* address: who was asked, 255 everyone */
    enum dbr_clear_kind kind;
    struct dbr_trouble_code code; /* of DBR_CLEAR_ONE */
    bool active;                  /* of DBR_CLEAR_ONE: an active code, else a previous one */
    int64_t at_ns;
    enum dbr_clear_answer answer; /* the first one */
    uint8_t answered_by;
    int64_t answered_ns; /* -1: never */
};

/* Somebody asked ECUs to stop broadcasting (DM13): who obeys is silent, and not broken. */
struct dbr_broadcast_stop {
    uint8_t interface, requester, address; /* address: who was asked, 255 everyone */
    int64_t start_ns;
    int64_t end_ns; /* start command, or 6 s after the last reminder; where open: end of recording */
    bool open;
    uint64_t reminders; /* further DM13 that kept it up */
};

struct dbr_troubles {
    size_t count, sender_count, clear_count, stop_count;
    const struct dbr_trouble *items;
    const struct dbr_trouble_sender *senders;
    const struct dbr_trouble_clear *clears;
    const struct dbr_broadcast_stop *stops;
    uint64_t beyond; /* reports, clears and stops beyond the ceilings (limits.h) */
};

/* "stays", "gone", "untold", "unknown"; "previously_active", "active", "one"; "done", ... as in
 * JSON. Static storage. */
const char *dbr_trouble_end_name(enum dbr_trouble_end end);

/* "active", "gone", "previously", ... for people. Static storage. */
const char *dbr_trouble_state_words(const struct dbr_trouble *trouble);
const char *dbr_clear_kind_name(enum dbr_clear_kind kind);
const char *dbr_clear_answer_name(enum dbr_clear_answer answer);

struct dbr_history;

#define DBR_TROUBLE_WORDS_MAX (DBR_LABEL_MAX + 16u) /* bytes; a signal's name may be longer: cut */

/*
 * What the SPN of a trouble code stands for, in words: "battery potential", "messages of tractor
 * ECU (240)"; false where no words are known. Writes at most `size` bytes with the NUL.
 */
bool dbr_trouble_words(char *out, size_t size, const struct dbr_history *history,
                       const struct dbr_trouble *trouble);

DBR_API_END

#endif
