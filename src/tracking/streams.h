/*
 * streams.h - parameter groups by sender and destination, and the cadence of each.
 *
 * A table from identifier to stream does, once per identifier, what is the same
 * for all its frames: splitting it, finding its sender and its definition.
 */
#ifndef DRAWBAR_TRACKING_STREAMS_H
#define DRAWBAR_TRACKING_STREAMS_H

#include "drawbar/can_id.h"
#include "drawbar/tracking.h"
#include "tracking/buses.h"
#include "tracking/histogram.h"

#define STREAM_ROLES_MAX 8u /* signals of one message that play a role */

/* An interval longer than all before it, and when it began. */
struct longest {
    int64_t at_ns;
    size_t bin; /* of the histogram of intervals */
};

#define STREAM_LONGEST_MAX 12u /* a bin is an eighth wider than the last: from jitter to gaps */

struct stream {
    /* what every frame needs stands together, at the head */
    uint64_t key; /* what tells it from others: interface and identifier without priority */
    struct ecu *ecu; /* NULL where there is none */
    struct dbr_can_id id;
    uint32_t listeners; /* trackers that its group concerns, a bit each (trackers.h); 0: not asked yet */
    uint32_t names;  /* NAMEs of the sender when its definition was looked up */
    bool looked_up;
    uint8_t role_count;
    uint64_t bus_pauses;   /* of the bus at the last frame: an interval across one is not measured */
    uint64_t silences;     /* of the sender likewise */
    uint64_t last_interval_us;
    struct dbr_stream seen;
    const struct dbr_signal *roles[STREAM_ROLES_MAX];
    struct histogram all;    /* intervals */
    struct histogram steady; /* intervals like the one before: another beat, no gap */
    size_t longest_count;
    struct longest longest[STREAM_LONGEST_MAX]; /* of those that are not, in the order of time */
};

#define STREAMS_RECENT 256u /* a power of two */

struct streams {
    size_t count;
    struct stream *recent[STREAMS_RECENT]; /* by the last bits of its key: most frames end here */
    bool out_of_memory; /* below the ceiling */
    struct stream *items[DBR_STREAMS_MAX];
    uint16_t slots[4 * DBR_STREAMS_MAX]; /* hash table of index + 1; a power of two */
};

/* The stream of a 29-bit identifier, made where it is new; NULL when there is no memory or room. */
struct stream *streams_find(struct streams *s, uint8_t interface, uint32_t id, int64_t now);

/* Counts a frame and measures the interval before it. `silences`: of its sender so far. */
void stream_frame(struct stream *st, int64_t now, const struct bus *bus, uint64_t silences);

/* Settles the cadence. */
void stream_finish(struct stream *st);

/* Whether the intervals so far show a beat; then `*period_s` is its period. */
bool stream_is_periodic(const struct stream *st, double *period_s);

void streams_release(struct streams *s);

#endif
