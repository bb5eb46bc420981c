/*
 * trackers.h - the parts of tracking, and the one table of them.
 */
#ifndef DRAWBAR_TRACKING_TRACKERS_H
#define DRAWBAR_TRACKING_TRACKERS_H

#include "tracking/activity.h"
#include "tracking/addresses.h"
#include "tracking/devices.h"
#include "tracking/early_setpoints.h"
#include "tracking/ecus.h"
#include "reading/frame_bits.h"
#include "tracking/identities.h"
#include "tracking/implements.h"
#include "tracking/pauses.h"
#include "tracking/series.h"
#include "tracking/speeds.h"
#include "tracking/streams.h"
#include "tracking/supplies.h"
#include "tracking/transfers.h"
#include "tracking/troubles.h"
#include "tracking/work.h"

struct dbr_tracking {
    const struct dbr_definitions *definitions;
    struct dbr_transport *transport;
    struct dbr_tracking *before;   /* what came before the window; NULL: nothing, or taken over */
    uint32_t bitrate;
    int64_t next_tick_ns;
    struct bit_tables bit_tables;
    bool bit_tables_made;
    struct dbr_history history;
    struct bus buses[DBR_INTERFACES_MAX];
    struct pauses pauses;
    struct series_pool series;
    struct ecus ecus;
    struct streams streams;
    struct addresses *addresses;
    struct supplies supplies;
    struct troubles troubles;
    struct work work;
    struct activity activity;
    struct speeds speeds;
    struct implements implements;
    struct early_setpoints early_setpoints;
    struct devices devices;
    struct transfers transfers;
    struct identities identities;
    /* what the history points to, gathered at the end */
    struct dbr_bus *seen_buses;
    struct dbr_ecu *seen_ecus;
    struct dbr_stream *seen_streams;
    struct dbr_speed_source *seen_sources;
    struct dbr_supply *seen_supplies;
    struct dbr_implement *seen_implements;
    struct dbr_device_story *seen_devices;
};

/* What a tracker does; members that it does not need are NULL. */
struct tracker {
    const char *name;
    /* Whether `frame` and `message` want this group; NULL: every one. Asked once for a stream. */
    bool (*concerns)(uint32_t pgn);
    /* A 29-bit data frame, in the order of time, also a part of a message in several frames. Bus,
     * ECU and stream have counted it already. */
    void (*frame)(struct dbr_tracking *t, const struct sighting *s);
    /* Time went on, told by such a frame after all trackers saw it; at least when it reached the
     * moment that was returned last. */
    int64_t (*tick)(struct dbr_tracking *t, int64_t now_ns);
    /* A whole message: a single frame, or, once complete, one that took several. `data` and
     * `length` are its own, and so are its stream and sender. */
    void (*message)(struct dbr_tracking *t, const struct sighting *s);
    /* A message in several frames ended, whole or not. Whole ones come to `message` as well. */
    void (*transfer)(struct dbr_tracking *t, const struct dbr_transfer *transfer);
    /* A signal with a role in that message, in the order of the definition. */
    void (*value)(struct dbr_tracking *t, const struct sighting *s, const struct role_value *v);
    /* A bus goes on after a gap in its traffic, before the first frame is told: what is told once,
     * when it changes, may have changed unheard. */
    void (*resume)(struct dbr_tracking *t, uint8_t interface);
    /* The recording ends: settles what is open. */
    void (*finish)(struct dbr_tracking *t);
};

/* Which trackers a group concerns. Never 0. */
uint32_t trackers_concerned(uint32_t pgn);

/* Tell them, in the order of the table. */
void trackers_frame(struct dbr_tracking *t, const struct sighting *s, uint32_t concerned);
void trackers_message(struct dbr_tracking *t, const struct sighting *s, uint32_t concerned);
void trackers_resume(struct dbr_tracking *t, uint8_t interface);
void trackers_value(struct dbr_tracking *t, const struct sighting *s, const struct role_value *v);

/* process_values.c: a message of process data; set-points that wait for who is the controller, told
 * once that is known, or when the recording ends. */
void process_values_message(struct dbr_tracking *t, const struct sighting *s);
void process_values_wait(struct dbr_tracking *t, const struct bus *bus, uint8_t interface);
void process_values_finish(struct dbr_tracking *t);

/* A part of it lost what it was to keep, below every ceiling. */
bool trackers_out_of_memory(const struct dbr_tracking *t);

/* The window begins: takes over what was told before it (lead_in.c). */
void lead_in_end(struct dbr_tracking *t);

/* Fills the seen_... members; false where memory is out (gather.c). */
bool tracking_gather(struct dbr_tracking *t);

extern const struct tracker trackers[];
extern const size_t tracker_count;

#endif
