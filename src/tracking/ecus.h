/*
 * ecus.h - who is on each bus, since when, how often, and when it fell silent.
 */
#ifndef DRAWBAR_TRACKING_ECUS_H
#define DRAWBAR_TRACKING_ECUS_H

#include "drawbar/tracking.h"
#include "tracking/buses.h"
#include "tracking/streams.h"

#define ECU_PAUSES 4u /* two messages a second come with pauses that alternate */

#define ECU_COMEBACKS 8u

/* After a pause of its bus (struct dbr_bus). */
struct comeback {
    int64_t left_ns, back_ns; /* its last frame before, its first one after */
    int64_t claim_ns;         /* its first claim after that; -1: none */
};

struct ecu {
    struct dbr_ecu seen;
    size_t index;
    int64_t previous_ns;    /* time of the frame before the last one; -1 for the first */
    int64_t pauses[ECU_PAUSES]; /* the last ones between its frames, up to that frame; in a ring */
    size_t pause_count;
    int64_t alive_at_last;  /* clock of its bus at its last frame */
    int64_t active_ns;      /* on that clock, without silences */
    int64_t settled_pause;  /* longest pause that was no silence, start-up left out */
    int64_t settled_before; /* the same before its last frame */
    uint64_t silence_count; /* also those that were not kept */
    bool left;              /* its NAME went on under another address, at `left_ns` (partings.c) */
    int64_t left_ns;
    uint64_t bus_pauses;    /* of its bus, at its last frame */
    struct comeback comebacks[ECU_COMEBACKS]; /* the last ones; in a ring */
    size_t comeback_count;
    bool heard_before;      /* the window that is judged */
};

/* What is known of an address from before the window that is judged (lead_in.c). */
struct prior_ecu {
    bool heard, named;
    uint64_t name;
};

struct ecus {
    size_t count;
    struct prior_ecu (*prior)[256]; /* by interface; NULL: nothing came before */
    uint64_t beyond; /* frames of senders beyond the ceiling */
    bool out_of_memory; /* below it */
    struct ecu *items[DBR_ECUS_MAX];
    struct ecu *by_address[DBR_INTERFACES_MAX][256];
};

/* The ECU at an address, made where it is new; NULL for 254, 255, and beyond the ceiling. */
struct ecu *ecus_find(struct ecus *e, uint8_t interface, uint8_t address);

/* Counts a frame; recognises that it ends a silence. */
void ecu_frame(struct ecu *ecu, int64_t now, const struct bus *bus,
               const struct streams *streams);

/* That frame was a claim of its address. */
void ecu_claim(struct ecu *ecu);

/* The recording ends: a silence may be on. */
void ecu_finish(struct ecu *ecu, const struct bus *bus, const struct streams *streams,
                int64_t end_ns);

/* Mean interval between its frames while it was not silent; NAN for a single frame. */
double ecu_mean_interval_s(const struct ecu *ecu);

void ecus_release(struct ecus *e);

#endif
