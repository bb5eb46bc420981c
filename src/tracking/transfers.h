/* transfers.h - keeps what became of messages in several frames; see drawbar/transfers.h. */
#ifndef DRAWBAR_TRACKING_TRANSFERS_H
#define DRAWBAR_TRACKING_TRANSFERS_H

#include "drawbar/limits.h"
#include "drawbar/tracking.h"

struct transfers {
    struct dbr_transfers seen;
    size_t last_flow; /* the one that was found last: most often it is asked for again */
    struct dbr_transfer_flow flows[DBR_TRANSFER_FLOWS_MAX];
    struct dbr_failed_transfers failures[DBR_TRANSFER_FAILURES_MAX];
    struct dbr_stray_flow strays[DBR_STRAY_FLOWS_MAX];
};

void transfers_ended(struct transfers *tr, const struct dbr_transfer *transfer);
void transfers_strayed(struct transfers *tr, const struct dbr_stray_control *control);

/* Finds the names of the groups; puts all into the history. */
void transfers_finish(struct transfers *tr, const struct dbr_transport_counts *counts,
                      const struct dbr_definitions *definitions, struct dbr_history *history);

#endif
