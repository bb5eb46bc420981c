/*
 * closeup.h - what was said around the moments that matter, message by message.
 *
 * A second pass over a recording, once its findings are known: for each window it
 * keeps speeds and rates as they came, and the messages that bear on the finding.
 * Memory has a ceiling (limits.h); what exceeds it is counted.
 *
 *     count = dbr_closeup_windows(diagnosis, windows, DBR_CLOSEUPS_MAX);
 *     closeups = dbr_closeups_new(definitions, history, windows, count, &error);
 *     dbr_closeups_frames(closeups, batch.frames, batch.count);   the same frames again
 *     dbr_closeups_finish(closeups, &error);
 *     for (i = 0; i < count; i++)
 *         show(dbr_closeups_at(closeups, i));
 *
 * A message in several frames counts once, when it is whole, or when it failed.
 */
#ifndef DRAWBAR_CLOSEUP_H
#define DRAWBAR_CLOSEUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/decoder.h"
#include "drawbar/process_data.h"
#include "drawbar/tracking.h"

DBR_API_BEGIN

struct dbr_diagnosis;

/* Ten seconds before and after a moment, and what of it to look at. */
struct dbr_closeup_window {
    size_t finding;      /* index */
    bool at_end;         /* around its end; else around its start */
    int64_t moment_ns;
    int64_t start_ns, end_ns; /* may reach beyond the recording */
    int interface, address;   /* of the finding; -1: none */
    int32_t pgn;              /* -1: none */
};

/*
 * The windows of a diagnosis: the starts of its root causes, then their ends where those are
 * further away, then the starts of the other faults and warnings. Returns how many, `room` at
 * most. Findings without a time have none.
 */
size_t dbr_closeup_windows(const struct dbr_diagnosis *diagnosis,
                           struct dbr_closeup_window *windows, size_t room);

struct dbr_closeup_point {
    int64_t at_ns;
    double value; /* m/s, or SI as in series.h; NAN unless `status` is valid */
    enum dbr_value_status status;
};

/* One source of speed, or the rate of one element. */
struct dbr_closeup_curve {
    enum dbr_quantity quantity; /* speed, or set-point or actual rate */
    int source;        /* index into the history's sources; of a rate -1 */
    uint8_t interface;
    uint8_t address;   /* who sends the speed; of a rate, the implement that it is about */
    uint16_t element;  /* device element; 0 where it has none */
    bool by_mass;      /* a rate: in kg/m2 */
    size_t count;
    const struct dbr_closeup_point *points; /* in order of time */
    uint64_t folded;   /* points beyond the ceiling */
};

struct dbr_closeup_signal {
    const struct dbr_signal *signal;
    struct dbr_value value;
};

#define DBR_CLOSEUP_SIGNALS_MAX 8u /* of one message; the ones that play a role come first */
#define DBR_CLOSEUP_DATA_MAX 64u   /* bytes kept of one message */

/*
 * A run of messages that say the same kind of thing: one sender and group (process data: and
 * element and DDI), the same states and statuses, all on one side of the moment. Shown is the
 * one nearest to the moment.
 */
struct dbr_closeup_message {
    enum dbr_seen_kind kind; /* never a fragment */
    bool about;              /* of the finding's address or group; else what went on beside it */
    uint64_t count;          /* messages in the run */
    int64_t first_ns, last_ns;
    /* the one that is shown */
    int64_t at_ns;
    uint8_t interface;
    struct dbr_can_id id;    /* all but DBR_SEEN_FRAME */
    uint8_t frame_flags;     /* DBR_SEEN_FRAME: enum dbr_frame_flag, */
    uint32_t frame_id;       /* and its identifier, or class bits */
    enum dbr_transfer_end failed; /* DBR_SEEN_FAILED: how it ended */
    size_t length;           /* bytes as sent; kept are DBR_CLOSEUP_DATA_MAX at most */
    uint8_t data[DBR_CLOSEUP_DATA_MAX];
    const struct dbr_message *message; /* the definition; NULL where there is none */
    bool is_process;         /* process data with element, DDI and value: `process` holds */
    struct dbr_process_data process;
    size_t signal_count;     /* signals that matter: of a role, or that say anything */
    struct dbr_closeup_signal signals[DBR_CLOSEUP_SIGNALS_MAX];
};

struct dbr_closeup {
    struct dbr_closeup_window window;
    size_t curve_count;
    const struct dbr_closeup_curve *curves;
    uint64_t curves_beyond;  /* values of curves beyond the ceiling, or lost for want of memory */
    size_t message_count;
    const struct dbr_closeup_message *messages; /* in order of time */
    uint64_t seen;           /* messages in the window, fragments apart */
    uint64_t left_out;       /* of these, in no run that is kept */
};

struct dbr_closeups;

/*
 * `definitions` and `history` must outlive the close-ups; `windows` is copied. NULL on failure
 * (out of memory).
 */
struct dbr_closeups *dbr_closeups_new(const struct dbr_definitions *definitions,
                                      const struct dbr_history *history,
                                      const struct dbr_closeup_window *windows, size_t count,
                                      struct dbr_error *error);

/* Takes the frames again that the history was made of, in the same order. */
void dbr_closeups_frames(struct dbr_closeups *closeups, const struct dbr_frame *frames,
                         size_t count);

/* Ends it; to be called once, before anything is read out. 0, or -1: memory ran out meanwhile. */
int dbr_closeups_finish(struct dbr_closeups *closeups, struct dbr_error *error);

size_t dbr_closeups_count(const struct dbr_closeups *closeups);

/* By the order of the windows. */
const struct dbr_closeup *dbr_closeups_at(const struct dbr_closeups *closeups, size_t index);
void dbr_closeups_free(struct dbr_closeups *closeups);

DBR_API_END

#endif
