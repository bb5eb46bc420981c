/*
 * packet_set.h - which packets of a transfer have come, in a few words of memory.
 *
 * Transfers go from the front to the back; a receiver asks again for what it lacks
 * before it goes on. So all packets up to some number are there, and beyond it only
 * the next few hundred need a bit each, whatever the size of the message (ETP: 16
 * million packets).
 */
#ifndef DRAWBAR_DECODING_PACKET_SET_H
#define DRAWBAR_DECODING_PACKET_SET_H

#include <stdbool.h>
#include <stdint.h>

/* One grant is at most 255 packets (a byte): two grants, one that lacks something and the next. */
#define PACKET_SPAN 512u

struct packet_set {
    uint32_t solid;     /* packets 1..solid have come */
    uint64_t beyond[PACKET_SPAN / 64]; /* bit i: packet solid + 1 + i; bit 0 is never set */
    uint32_t lost_from; /* not 0: so much lacks from here on that it is no longer followed */
};

bool packet_set_has(const struct packet_set *set, uint32_t packet);

/* A packet came. Beyond the span the set is lost: it will never be whole. */
void packet_set_add(struct packet_set *set, uint32_t packet);

/* These packets are asked for (again): what came of them before does not count. Returns how many. */
uint32_t packet_set_reopen(struct packet_set *set, uint32_t first, uint32_t count);

/* The first of `packets` that has not come; 0: all have. */
uint32_t packet_set_missing(const struct packet_set *set, uint32_t packets);

#endif
