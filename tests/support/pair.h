/*
 * pair.h - two findings made by hand, and whether the one explains the other.
 *
 *     struct pair p;
 *     pair_begin(&p, "ecu-silent", "supply-low");
 *     p.cause.seen.interface = 1;
 *     cr_expect_not(pair_linked(&p));
 *
 * Stories (story.h) show that both findings arise; here is what the link between them asks for,
 * one thing at a time, where a whole recording for each would be long.
 */
#ifndef TESTS_SUPPORT_PAIR_H
#define TESTS_SUPPORT_PAIR_H

#include "diagnosis/findings.h"

#define PAIR_ROOM 4u

struct pair {
    struct findings findings;
    struct dbr_history history;
    struct dbr_ecu ecus[PAIR_ROOM];
    struct dbr_speed_source sources[PAIR_ROOM];
    struct dbr_implement implements[1];
    struct dbr_bus buses[1];
    struct dbr_restart restarts[1];
    struct dbr_trouble trouble;
    struct found effect, cause;
};

/* Both are faults of address 140 of one bus, at one time: the cause from 18 s to 30 s, the effect
 * from 20 s to 30 s, in a recording of 60 s. No ECU, no source of speed, no implement. */
void pair_begin(struct pair *p, const char *effect, const char *cause);

/* A finding of its own time, in seconds. */
void pair_time(struct found *found, double from, double to);

/* An ECU that has claimed its address with a NAME, and a source of speed; to be completed. */
struct dbr_ecu *pair_ecu(struct pair *p, uint8_t interface, uint8_t address, uint64_t name);
struct dbr_speed_source *pair_source(struct pair *p, uint8_t address, enum dbr_speed_kind kind);

/* The first ECU starts anew, in seconds. */
void pair_restart(struct pair *p, double at);

/* Gives the trouble code to the finding that is about one. */
void pair_code(struct pair *p, struct found *found, uint32_t spn, uint8_t fmi);

/* Whether the effect is put down to the cause; it forgets again, so that it can be asked once
 * more. Both ways at once, or one that is its own cause, ends the test. */
bool pair_linked(struct pair *p);

#endif
