/*
 * addresses.h - address claims over time: conflicts, moves, restarts, duplicates, debts.
 *
 * Source: SAE J1939-81, ISO 11783-5. The lower NAME wins a contest; the loser
 * claims another address or says from the null address that it cannot claim.
 *
 * Frames carry addresses and no NAMEs: after a contest for one address nothing in
 * a frame tells who sent it. Who went on is inferred from the groups that were
 * sent under the address before the contest and those that are new after it.
 */
#ifndef DRAWBAR_TRACKING_ADDRESSES_H
#define DRAWBAR_TRACKING_ADDRESSES_H

#include "tracking/ecus.h"
#include "tracking/sighting.h"

struct addresses;

/* NULL when there is no memory. */
struct addresses *addresses_new(void);
void addresses_free(struct addresses *a);

/* Every frame of 29 bits, claims and requests among them. */
void addresses_frame(struct addresses *a, const struct sighting *s);

/* Settles what was open; fills the lists of the history. */
void addresses_finish(struct addresses *a, struct ecus *ecus, const struct bus *buses,
                      struct dbr_history *history);

#endif
