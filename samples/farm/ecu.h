/*
 * ecu.h - what all ECUs do alike: take power, claim an address, send with a beat.
 *
 * What an ECU is, its design says: a constant in one file of its own (ecu_*.c,
 * listed in ecus.c). From power to work (J1939-81 4.4; times: names in ecu.c):
 *
 *     off -> booting -> asking who is there -> claimed -> running
 *                                                  \-> beaten: another has the address
 */
#ifndef FARM_ECU_H
#define FARM_ECU_H

#include <stddef.h>

#include "farm/frame.h"
#include "farm/names.h"
#include "farm/random.h"
#include "farm/scenario.h"

#define FARM_MESSAGES_MAX 6u

struct farm_sim;
struct farm_ecu;

/* A group that is sent with a beat. */
struct farm_message {
    uint32_t pgn;
    uint8_t priority;
    uint8_t destination; /* of groups that have one */
    int32_t period_ms;
    int32_t phase_ms; /* of the first one after the start */
    /* Fills 8 bytes that are all FF; false where there is nothing to send now. */
    bool (*compose)(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8]);
};

/* What it tells when it is asked (tell.h). Each field ends with '*' (SAE J1939-71, ISO 11783-12). NULL: it does not answer. */
struct farm_told {
    const char *software;       /* any number of fields */
    const char *identification; /* part number, serial number, location, type, maker, hardware */
};

struct farm_ecu_design {
    struct farm_name name;
    uint8_t address;
    int32_t boot_ms;                     /* from power to the first frame */
    int32_t clock_ppm;                   /* how much too slow its clock runs */
    int32_t jitter_us;                   /* a message comes up to so much late */
    const struct farm_message *messages; /* at most FARM_MESSAGES_MAX */
    size_t message_count;
    struct farm_told told;
    /* Each may be NULL. */
    void (*start)(struct farm_sim *sim, struct farm_ecu *ecu); /* as it begins to run */
    void (*tick)(struct farm_sim *sim, struct farm_ecu *ecu);  /* each ms while it runs */
    void (*hear)(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame);
};

enum farm_ecu_state {
    FARM_ECU_OFF,
    FARM_ECU_BOOTING,
    FARM_ECU_ASKING,
    FARM_ECU_CLAIMED,
    FARM_ECU_RUNNING,
    FARM_ECU_BEATEN
};

struct farm_ecu {
    const struct farm_ecu_design *design;
    enum farm_unit unit;
    enum farm_ecu_state state;
    int64_t next_ns;  /* when the state is left, where time alone decides */
    int64_t claim_ns; /* of the last claim of its own accord */
    int64_t due_ns[FARM_MESSAGES_MAX];
    uint8_t counter; /* of messages that carry one */
    struct farm_random random;
};

void farm_ecu_init(struct farm_ecu *ecu, const struct farm_ecu_design *design, enum farm_unit unit,
                   uint64_t seed);

/* One ms of its life. */
void farm_ecu_tick(struct farm_sim *sim, struct farm_ecu *ecu);

/* It hears a frame of another, as soon as that is complete. */
void farm_ecu_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame);

/* Sends 8 bytes from its address, `delay_us` from now. */
void farm_ecu_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned priority, uint32_t pgn,
                   unsigned destination, const uint8_t data[8], int64_t delay_us);

/* Asks for a group (PGN 59904), from `source`. */
void farm_ecu_request(struct farm_sim *sim, struct farm_ecu *ecu, unsigned source,
                      unsigned destination, uint32_t pgn);

/* Whether a frame asks `ecu`, or everyone, for a group. */
bool farm_is_request(const struct farm_ecu *ecu, const struct farm_frame *frame, uint32_t pgn);

uint64_t farm_ecu_name(const struct farm_ecu *ecu);

#endif
