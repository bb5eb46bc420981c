/*
 * identities.h - what each ECU told about itself, kept by its NAME.
 *
 * What is told belongs to the NAME that held the address then, so that it goes
 * with an ECU that moves to another address. Told before any claim was seen, it
 * counts for the ECU that claims the address later, unless that may be another.
 * Where two ECUs go on under one address nobody knows who told what: nothing is
 * said of them then.
 */
#ifndef DRAWBAR_TRACKING_IDENTITIES_H
#define DRAWBAR_TRACKING_IDENTITIES_H

#include "drawbar/identity.h"
#include "tracking/ecus.h"
#include "tracking/sighting.h"

struct told_identity {
    struct dbr_identity seen; /* points into `told` */
    struct dbr_told *told[DBR_TOLD_GROUPS];
    uint8_t interface, address; /* where it told first */
    bool named;
    uint64_t name; /* counts where named */
};

struct identities {
    size_t count;
    struct told_identity *items[DBR_IDENTITIES_MAX];
    uint64_t beyond; /* messages of ECUs beyond the ceiling */
    bool out_of_memory; /* below it */
    struct dbr_told scratch;
};

/* Every whole message. */
void identities_message(struct identities *ids, const struct sighting *s);

/* The designator of an ECU's device description; the last one holds, an empty one is none. */
void identities_designate(struct identities *ids, const struct ecu *ecu, const char *text);

/* Gives each ECU what is known of it; after the addresses, which tell of conflicts. */
void identities_finish(struct identities *ids, struct ecus *ecus,
                       const struct dbr_history *history);

void identities_release(struct identities *ids);

#endif
