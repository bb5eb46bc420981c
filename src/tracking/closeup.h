/*
 * closeup.h - one window while it is being filled.
 *
 * closeup_runs.c keeps messages, closeup_curves.c speeds and rates, closeup.c opens
 * and closes windows. A window takes memory only while time is inside it; once closed it
 * holds what is shown, and no more.
 */
#ifndef DRAWBAR_TRACKING_CLOSEUP_H
#define DRAWBAR_TRACKING_CLOSEUP_H

#include "drawbar/closeup.h"
#include "tracking/sighting.h"

#define RUNS_BEFORE 2u /* of one stream: the last before the moment */
#define RUNS_AFTER 3u  /* the first from the moment on */

/* How near a stream is to the finding; nearest first. */
enum closeness { CLOSE_BOTH, CLOSE_ONE, CLOSE_NOT };

struct run {
    uint64_t appearance; /* what makes two messages say the same kind of thing */
    uint64_t count;
    int64_t first_ns, last_ns, at_ns;
    uint8_t priority;
    const struct dbr_message *message;
    size_t length;
    uint8_t data[DBR_CLOSEUP_DATA_MAX];
};

/* What a stream is told apart by. */
struct stream_key {
    enum dbr_seen_kind kind;
    uint8_t interface, source, destination;
    uint32_t pgn;     /* of frames that are no messages: their identifier */
    uint32_t part;    /* process data: command, element and DDI; failed: how; frames: flags */
};

struct stream_runs {
    struct stream_key key;
    struct dbr_can_id id;
    enum closeness closeness;
    size_t before_count, after_count;
    bool after_full; /* further runs came: none of them is kept */
    struct run before[RUNS_BEFORE], after[RUNS_AFTER];
};

struct curve {
    struct dbr_closeup_curve seen;
    struct dbr_closeup_point *points;
    size_t room;
};

struct closeup {
    struct dbr_closeup seen;
    bool closed, out_of_memory;
    size_t stream_count, far_count; /* far: of no closeness */
    struct stream_runs **streams;   /* while it is open */
    struct curve *curves;
    struct dbr_closeup_curve *seen_curves;
    struct dbr_closeup_message *messages;
};

void closeup_take_message(struct closeup *c, const struct dbr_seen *seen);
void closeup_close_messages(struct closeup *c);

/* The speeds and rates in a message. */
void closeup_take_values(struct closeup *c, const struct dbr_history *history,
                         const struct dbr_seen *seen);
void closeup_close_curves(struct closeup *c);

void closeup_release(struct closeup *c);

#endif
