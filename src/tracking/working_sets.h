/*
 * working_sets.h - which ECUs work together as one implement.
 *
 * Source: ISO 11783-7 (working set master and member), ISO 11783-1. A master tells
 * how many it leads, then the NAME of each member. A member belongs to the master
 * that named it last.
 */
#ifndef DRAWBAR_TRACKING_WORKING_SETS_H
#define DRAWBAR_TRACKING_WORKING_SETS_H

#include "tracking/ecus.h"
#include "tracking/sighting.h"

#define PGN_WORKING_SET_MEMBER 65036u /* ISO 11783-7 */
#define PGN_WORKING_SET_MASTER 65037u

struct working_sets {
    size_t count, member_count;
    struct dbr_working_set sets[DBR_WORKING_SETS_MAX];
    struct dbr_member members[DBR_MEMBERS_MAX];
    uint64_t beyond;
};

/* A single frame of 8 bytes; others than the two groups are ignored. */
void working_sets_frame(struct working_sets *w, const struct sighting *s);

/* Whether a NAME is that of a member; then its master's address. -1: it is none. */
int working_sets_master(const struct working_sets *w, uint8_t interface, uint64_t name);

/* Finds the addresses of the members; fills the lists of the history. */
void working_sets_finish(struct working_sets *w, const struct ecus *ecus,
                         struct dbr_history *history);

#endif
