/* addresses_internal.h - state shared by addresses.c, contests.c and restarts.c. */
#ifndef DRAWBAR_TRACKING_ADDRESSES_INTERNAL_H
#define DRAWBAR_TRACKING_ADDRESSES_INTERNAL_H

#include "tracking/addresses.h"

#define CLAIM_TIMES 32u  /* claims of an ECU whose times are kept */
#define HOLDERS_MAX 512u /* NAMEs of one bus whose address is known */
#define CONTESTS_MAX 64u /* contests that are watched at one time */

/* J1939-81 4.5.2: 250 ms for contention; the contract gives an answer 1.25 s (J1939-21 T3). */
#define ANSWER_NS (1250 * NS_PER_MS)

/* A NAME and the address that it claimed last. */
struct holder {
    uint64_t name;
    uint8_t interface, address; /* 254: it cannot claim */
    int64_t claimed_ns;
};

/* What is known of the claims of one ECU (one address), beside struct dbr_ecu. */
struct claimant {
    struct ecu *ecu;
    int64_t asked_ns;        /* a request for its claim that is not answered yet; -1: none */
    int64_t asked_alive;     /* the same on the clock of its bus */
    int64_t directed_ns;     /* last request to this address; -1 */
    int64_t booted_ns;       /* a claim that may be of a boot; what follows tells; -1 */
    uint64_t claim_count;
    int64_t claims[CLAIM_TIMES]; /* times, a ring */
    bool by_itself[CLAIM_TIMES]; /* unasked, or its first frame: it booted */
};

/* An address with two users, or perhaps two: watched from the second claim on. */
struct contest {
    bool present;       /* the incumbent was heard lately */
    bool certain;       /* two NAMEs, both present; else it shows by what follows */
    struct dbr_conflict seen;
    struct ecu *ecu;
    uint64_t frames_before;    /* of the address, other than claims */
    int64_t active_before_ns;  /* on the clock of the bus, without silences */
    /* after the contest was settled, ANSWER_NS after the second claim */
    uint64_t old_frames, new_frames; /* in groups sent before, and in new groups */
    int64_t old_first_ns, old_last_ns, new_first_ns, new_last_ns;
};

/* One NAME that claimed a second address while the first goes on perhaps. */
struct twin {
    struct dbr_duplicate seen;
    uint64_t frames; /* of the first address, a second and more after the claim of the second */
};

struct addresses {
    struct claimant claimants[DBR_ECUS_MAX];
    int64_t asked_all[DBR_INTERFACES_MAX][256]; /* last request to all, by source; -1 */
    size_t holder_count;
    struct holder holders[HOLDERS_MAX];
    size_t contest_count;
    struct contest contests[CONTESTS_MAX];
    size_t twin_count;
    struct twin twins[CONTESTS_MAX];
    size_t conflict_count, cannot_claim_count, restart_count, duplicate_count;
    struct dbr_conflict conflicts[CONTESTS_MAX];
    struct dbr_cannot_claim cannot_claims[DBR_CLAIM_EVENTS_MAX];
    struct dbr_restart restarts[DBR_CLAIM_EVENTS_MAX];
    struct dbr_duplicate duplicates[CONTESTS_MAX];
    uint64_t dropped; /* events beyond the ceilings */
};

struct holder *addresses_holder(struct addresses *a, uint8_t interface, uint64_t name);
void addresses_add_restart(struct addresses *a, const struct ecu *ecu, int64_t at_ns);

/* A claim of `name` for the address of `s`, in use by somebody else perhaps. */
void contest_begin(struct addresses *a, const struct sighting *s, uint64_t name);

/* A claim anywhere on the bus: it may be the answer of somebody in a contest. */
void contests_claim(struct addresses *a, const struct sighting *s, uint64_t name, bool asked);

/* A frame of an address that may be contested. */
void contests_frame(struct addresses *a, const struct sighting *s);

/* Whether the address of `s` is or was contested in the last seconds. */
bool contests_touch(const struct addresses *a, const struct sighting *s);

/* Whether the claim that `s` is was asked for, in the time that an answer may take: not by what its
 * ECU asked itself as it booted. */
bool restarts_was_asked(const struct addresses *a, const struct sighting *s);

/* A claim by the NAME that has the address already, and any other frame of an ECU. */
void restarts_claim(struct addresses *a, const struct sighting *s, bool asked);
void restarts_frame(struct addresses *a, const struct sighting *s);

/* In order, counted, and those with a key cycle known. */
void restarts_finish(struct addresses *a, struct ecus *ecus, const struct bus *buses);

void contests_finish(struct addresses *a, const struct bus *buses);

#endif
