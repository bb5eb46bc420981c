/*
 * transfers.h - messages in several frames over a whole recording: who gets them through, who not.
 *
 * Part of the history (tracking.h). Failures are kept by who, to whom, what and why, with
 * the first of each in full: a transfer that fails every second is one story.
 */
#ifndef DRAWBAR_TRANSFERS_H
#define DRAWBAR_TRANSFERS_H

#include <stddef.h>
#include <stdint.h>

#include "drawbar/transport.h"

struct dbr_message;

/* All messages of one group from one sender to one destination, by one carrier. */
struct dbr_transfer_flow {
    uint8_t interface, source, destination;
    uint32_t pgn;
    enum dbr_carrier carrier;
    uint64_t complete, failed;
};

/* Transfers of one flow that failed in one way. */
struct dbr_failed_transfers {
    size_t flow;     /* index */
    uint32_t reason; /* that came with the end: abort reason, timer or breach */
    uint64_t count;
    int64_t first_ns, last_ns; /* of their announcements */
    int64_t ended_ns;          /* the end of the last */
    struct dbr_transfer first; /* without data */
    const struct dbr_message *message; /* the definition of the group, or NULL */
};

/* Grants and other control messages that belong to no transfer. */
struct dbr_stray_flow {
    struct dbr_stray_control first;
    int64_t last_ns;
    uint64_t count;
    uint32_t next;       /* packet number that the last grant asked for */
    uint64_t same_again; /* grants from the same packet number on as the one before */
    const struct dbr_message *message; /* as above */
};

/* What exceeds a ceiling (limits.h) is counted in the `..._beyond`. */
struct dbr_transfers {
    uint64_t complete;
    uint64_t unacknowledged; /* of these: connections without acknowledgement in the recording */
    uint64_t failed;
    uint64_t unrecorded;     /* acknowledged, but the recording lacks parts: it loses frames */
    uint64_t unfinished;
    struct dbr_transport_counts counts;
    size_t flow_count, failure_count, stray_count;
    const struct dbr_transfer_flow *flows;
    const struct dbr_failed_transfers *failures;
    const struct dbr_stray_flow *strays;
    uint64_t flows_beyond, failures_beyond, strays_beyond;
};

#endif
