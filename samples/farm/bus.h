/*
 * bus.h - one CAN bus: frames wait, the lowest identifier wins, one at a time.
 *
 *     farm_bus_send(&bus, sender, &frame, ready_ns);
 *     while (farm_bus_next(&bus, until_ns, &transfer))
 *         ...                             transfer.frame was on the bus until transfer.end_ns
 *
 * Arbitration as in ISO 11898-1: when the bus goes idle, all that wait begin
 * together and the lowest identifier survives; of one identifier the older.
 */
#ifndef FARM_BUS_H
#define FARM_BUS_H

#include <stddef.h>

#include "farm/frame.h"

#define FARM_WAITING_MAX 256u /* frames; a start-up of nine ECUs needs about 60 */
#define FARM_NOBODY      (-1)

struct farm_waiting {
    struct farm_frame frame;
    int sender;
    int64_t ready_ns;
    uint64_t order;
};

struct farm_bus {
    int64_t idle_ns;      /* from then on a frame may begin */
    int disturbed_sender; /* whatever this one sends ends in an error flag; FARM_NOBODY */
    bool overflowed;      /* a frame found no room: the simulation is not to be used */
    uint64_t sent;
    size_t count;
    struct farm_waiting waiting[FARM_WAITING_MAX];
};

struct farm_transfer {
    struct farm_frame frame;
    int sender;
    int64_t start_ns, end_ns;
    bool failed; /* destroyed by an error flag; it waits for another try */
};

/* Puts a frame in the sender's queue; it takes part in arbitration from `ready_ns` on. */
void farm_bus_send(struct farm_bus *bus, int sender, const struct farm_frame *frame,
                   int64_t ready_ns);

/* Drops all that waits of one sender: it lost power or its address. */
void farm_bus_forget(struct farm_bus *bus, int sender);

/* The next transfer that begins before `until_ns`; false where there is none. */
bool farm_bus_next(struct farm_bus *bus, int64_t until_ns, struct farm_transfer *out);

#endif
