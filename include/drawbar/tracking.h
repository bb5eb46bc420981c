/*
 * tracking.h - from single messages to what happened: ECUs, addresses, speeds, bus health.
 *
 * A tracker is fed every frame in time order and keeps what a diagnosis needs:
 * intervals, counts and figures, never single values. Its memory has a ceiling
 * (limits.h) whatever the length of the recording; what did not fit is counted.
 *
 *     tracking = dbr_tracking_new(definitions, &options, &error);
 *     while ((n = dbr_recording_next(recording, &batch, &error)) > 0)
 *         dbr_tracking_frames(tracking, batch.frames, (size_t)n);
 *     history = dbr_tracking_finish(tracking, dbr_recording_info(recording), &error);
 *
 * Times are ns since the first frame. Time comes from the frames only: the same
 * recording always gives the same history. "Bus goes on" is measured on a clock
 * of each bus that stands while the bus is silent, so that a pause of the
 * recording is never taken for the silence of an ECU.
 */
#ifndef DRAWBAR_TRACKING_H
#define DRAWBAR_TRACKING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/chain.h"
#include "drawbar/definitions.h"
#include "drawbar/device_story.h"
#include "drawbar/error.h"
#include "drawbar/error_frame.h"
#include "drawbar/frame.h"
#include "drawbar/identity.h"
#include "drawbar/limits.h"
#include "drawbar/reading.h"
#include "drawbar/series.h"
#include "drawbar/spells.h"
#include "drawbar/transfers.h"
#include "drawbar/troubles.h"

DBR_API_BEGIN

/* How often a stream's messages come. */
struct dbr_cadence {
    uint64_t intervals;     /* measured, pauses of bus and sender left out */
    double median_s;        /* NAN where nothing was measured */
    double longest_s;       /* longest interval measured; NAN likewise */
    double stable_share;    /* of intervals within a quarter of the median, 0..1 */
    uint64_t over_three;    /* intervals over 3 periods that stand alone: missed beats */
    int64_t first_over_ns;  /* when the first of these began; where there is none, 0 */
    double period_s;        /* the period that they are judged by; NAN where there is none */
};

/* One parameter group from one sender (to one destination, where it has one). */
struct dbr_stream {
    uint8_t interface, address, destination;
    uint32_t pgn;
    const struct dbr_message *message; /* its definition, or NULL */
    const struct dbr_message *waits_for_name; /* one that would hold if the NAME were known */
    bool broadcast;
    uint64_t frames;
    int64_t first_ns, last_ns;
    struct dbr_cadence cadence;
};

/* One address of one bus, and who used it. */
struct dbr_ecu {
    uint8_t interface, address;
    size_t name_count; /* NAMEs claimed for this address, in order; the last is in force */
    uint64_t names[DBR_NAMES_MAX];
    uint64_t frames;
    int64_t first_ns, last_ns;
    uint64_t claims;
    int64_t claim_ns[DBR_CLAIM_TIMES_MAX]; /* when, of the first ones */
    uint64_t restarts;
    double mean_interval_s;     /* over its life without silences; NAN for a single frame */
    struct dbr_spells silences; /* from its last frame to its return, while the bus goes on;
                                   count: claims unasked within 2 s after its return */
    int64_t unclaimed_since_ns; /* -1, or since when the recording shows that it owes a claim */
    bool asked_in_vain;         /* for unclaimed: it was asked for its claim and did not answer */
    const struct dbr_identity *identity; /* what it told about itself; NULL: nothing, or unknown who */
};

enum dbr_speed_kind {
    DBR_SPEED_WHEEL,
    DBR_SPEED_GROUND,
    DBR_SPEED_SELECTED,
    DBR_SPEED_VEHICLE,
    DBR_SPEED_NAVIGATION,
    DBR_SPEED_GNSS,
    DBR_SPEED_IMPLEMENT,
    DBR_SPEED_KINDS
};

/* Worst last. */
enum dbr_speed_state {
    DBR_SPEED_STATE_VALID,
    DBR_SPEED_STATE_INTERMITTENT,
    DBR_SPEED_STATE_STUCK_ZERO,
    DBR_SPEED_STATE_FROZEN,
    DBR_SPEED_STATE_ERRATIC,
    DBR_SPEED_STATE_NOT_AVAILABLE,
    DBR_SPEED_STATE_ERROR,
    DBR_SPEED_STATE_LOST,
    DBR_SPEED_STATE_ABSENT
};

/* What the selected speed was taken from (SPN 4308). */
struct dbr_selection_change {
    int64_t at_ns;
    uint8_t from, to; /* raw values of SPN 4308, 0..4 */
};

struct dbr_speed_source {
    uint8_t interface, address;
    enum dbr_speed_kind kind;
    uint32_t pgn;
    uint16_t element;   /* device element of a process data speed, else 0 */
    uint64_t frames;
    uint64_t valid;     /* frames with a valid speed */
    int64_t first_ns, last_ns;
    double max_mps;     /* NAN where never valid */
    bool moved;         /* ever above 0.5 m/s */
    double period_s;    /* mean distance of its messages; NAN for a single one */
    enum dbr_speed_state state;

    /* own: its speed; low, high: reference during the spell; mask: sources that witness it */
    struct dbr_spells not_available, in_error, lost, stuck_zero, frozen;
    size_t not_yet;              /* the first so many of not_available ended with its first value */
    struct dbr_spells erratic;   /* count: impossible steps; own: the largest, m/s */
    struct dbr_spells distance;  /* own: metres by its counter; high: metres by its speed */
    struct dbr_spells direction; /* mask: sources that go the other way */
    /* how far the last three could have shown anything */
    bool one_value;              /* it ends on a value that it repeated long enough to be frozen,
                                    and no other source told whether it was */
    uint64_t distances_compared; /* stretches over which counter and speed were compared */
    double directions_compared_s; /* how long it and another told a direction while moving */

    int reference;             /* index of the source it was compared to, -1: none */
    double ratio_to_reference; /* median while both move; NAN where not comparable */
    double compared_s;         /* how long both moved */
    int64_t compared_since_ns; /* since when both did; where the scale was right at first, since it
                                  no longer was. 0 where not comparable */
    bool reference_supported;  /* another ECU, or satellites, speak for the reference */
    bool driven;               /* its wheel drives: it may run ahead of the ground by slip */

    uint8_t selection;         /* selected speed: last raw SPN 4308; 255 unknown */
    uint64_t changes_total;
    size_t change_count;
    struct dbr_selection_change changes[DBR_CHANGES_MAX];
};

struct dbr_supply {
    uint8_t interface, address;
    double lowest_v, highest_v;
    struct dbr_spells low; /* low: lowest voltage */
};

struct dbr_bus {
    uint64_t frames; /* data, remote and error frames; repeats of sent frames left out */
    uint64_t standard_frames, fd_frames; /* of these */
    int64_t first_foreign_ns;
    int64_t first_ns, last_ns;
    bool measured;             /* load figures hold: time stamps are there, over 1 s and more */
    double load_mean_percent;
    double load_peak_percent;  /* highest over one second, in steps of 0.1 s */
    int64_t load_peak_at_ns;
    struct dbr_spells busy, very_busy; /* load >= 70 %, >= 90 %; high: peak in percent */

    uint64_t error_frames;
    uint64_t restarts;         /* of the recorder's controller */
    int transmit_errors_max, receive_errors_max; /* -1: never told */
    struct dbr_spells off;     /* recorder's controller off the bus, to its restart */
    struct dbr_spells passive, warning;
    struct dbr_spells errors;  /* error frames less than 1 s apart; count; mask: kinds */
    struct dbr_spells bursts;  /* more than 10 within 1 s; count; mask: kind that dominates */
    uint64_t no_acknowledge;   /* error frames that say that nobody acknowledged */
    int64_t first_no_acknowledge_ns, last_no_acknowledge_ns;
    struct dbr_spells pauses;  /* bus silent for 1 s and more; count: 1 where it had no power:
                                  its ECUs claimed anew as they came back */

    struct dbr_spells drive_engaged; /* a PTO, as told on this bus */
    struct dbr_spells hitch_moves;   /* a hitch rises, sinks or is shaken */

    int64_t key_off_ns;        /* -1, or when the key switch was reported off for good */
    int64_t switched_off_ns;   /* -1, or when the machine was switched off: by the key switch, or
                                  because nearly all ECUs ended for good within seconds */
};

/* What became of the one that had to give way. */
enum dbr_loser_outcome {
    DBR_LOSER_UNKNOWN,
    DBR_LOSER_MOVED,        /* claimed another address */
    DBR_LOSER_CANNOT_CLAIM, /* said that it has none */
    DBR_LOSER_SILENT,
    DBR_LOSER_STAYED        /* goes on under the contested address */
};

struct dbr_conflict {
    uint8_t interface, address;
    int64_t at_ns;             /* the second claim */
    bool incumbent_named;      /* the NAME of the earlier user is known */
    uint64_t incumbent, newcomer; /* NAMEs */
    bool newcomer_wins;
    bool loser_had_worked;     /* it had sent other messages under the address */
    enum dbr_loser_outcome outcome;
    int64_t outcome_at_ns;
    uint8_t moved_to;
    int64_t shared_from_ns;    /* -1, or since when both go on sending */
    uint64_t claims;           /* claims for the address in the contest */
};

struct dbr_cannot_claim {
    uint8_t interface;
    uint64_t name;
    int64_t first_ns, last_ns;
    uint64_t count;
    int previous_address; /* -1 where it held none in this recording */
};

struct dbr_restart {
    size_t ecu; /* index */
    int64_t at_ns;
    unsigned ordinal;  /* 1: the first restart of this ECU */
    bool with_all;     /* a key cycle: every ECU of the bus claimed within 5 s, or the
                          key switch told so */
};

struct dbr_duplicate {
    uint8_t interface, first_address, second_address;
    uint64_t name;
    int64_t at_ns; /* the claim of the second */
};

/* Who leads a working set (ISO 11783-7): by messages of the master itself. */
struct dbr_working_set {
    uint8_t interface, master; /* address */
    int16_t announced;         /* members by its own count, itself among them; -1: not told */
};

/* A member other than the master, as the master named it. */
struct dbr_member {
    uint8_t interface, master;
    int16_t address; /* -1: its NAME never claimed an address in this recording */
    uint64_t name;
};

struct dbr_history {
    int64_t end_ns;  /* time of the last frame */
    bool timed;      /* stamps exist; without, only counts are known */
    size_t ecu_count, stream_count, source_count, supply_count;
    const struct dbr_ecu *ecus;
    const struct dbr_stream *streams;
    const struct dbr_speed_source *sources;
    const struct dbr_supply *supplies;
    size_t bus_count; /* by interface index */
    const struct dbr_bus *buses;
    size_t conflict_count, cannot_claim_count, restart_count, duplicate_count;
    const struct dbr_conflict *conflicts;
    const struct dbr_cannot_claim *cannot_claims;
    const struct dbr_restart *restarts;
    const struct dbr_duplicate *duplicates;
    size_t implement_count;
    const struct dbr_implement *implements;
    struct dbr_transfers transfers; /* messages in several frames */
    struct dbr_series_set series; /* values over time, for drawing */
    size_t device_count;      /* implements that spoke of their description */
    const struct dbr_device_story *devices;
    size_t working_set_count, member_count;
    const struct dbr_working_set *working_sets;
    const struct dbr_member *members; /* of all sets */
    struct dbr_troubles troubles;
    struct dbr_spells pauses; /* every bus silent for 1 s and more, amid traffic; count: 1 where a
                                 bus had no power */
    bool pauses_are_flaws;    /* such traffic else never pauses */
    size_t waiting_count;     /* definitions that wait for a NAME that was never claimed */
    const struct dbr_message *waiting[16];
    uint64_t not_tracked;     /* frames of senders or groups beyond the ceilings */
    uint64_t events_dropped;  /* claims and the like beyond the ceilings */
};

struct dbr_tracking_options {
    uint32_t bitrate; /* bit/s of every bus, 250000 on an implement bus (ISO 11783-2) */
};

struct dbr_tracking;

/* NULL on failure (out of memory). `definitions` must outlive the tracking. */
struct dbr_tracking *dbr_tracking_new(const struct dbr_definitions *definitions,
                                      const struct dbr_tracking_options *options,
                                      struct dbr_error *error);

/*
 * Takes frames that come before those that are to be judged, in time order: who claimed, what
 * ECUs told of themselves and their descriptions are kept, and nothing is found in them. To be
 * called before dbr_tracking_frames. -1: out of memory.
 */
int dbr_tracking_lead_in(struct dbr_tracking *tracking, const struct dbr_frame *frames,
                         size_t count, struct dbr_error *error);

/* Takes frames in time order. */
void dbr_tracking_frames(struct dbr_tracking *tracking, const struct dbr_frame *frames,
                         size_t count);

/* The same where the batch tells how long each occupies the bus (`measure` of the reading options). */
void dbr_tracking_measured(struct dbr_tracking *tracking, const struct dbr_frame *frames,
                           const uint16_t *bits, size_t count);

/*
 * Ends the story; to be called once. The history belongs to the tracking and
 * lives until dbr_tracking_free. NULL on failure (out of memory).
 */
const struct dbr_history *dbr_tracking_finish(struct dbr_tracking *tracking,
                                              const struct dbr_recording_info *info,
                                              struct dbr_error *error);

void dbr_tracking_free(struct dbr_tracking *tracking);

/* "wheel", "ground", ... and "valid", "stuck_zero", ... as in the JSON report. Static storage. */
const char *dbr_speed_kind_name(enum dbr_speed_kind kind);
const char *dbr_speed_state_name(enum dbr_speed_state state);
const char *dbr_speed_state_words(enum dbr_speed_state state);

/* Whether any source reported motion; whether any error frame was recorded. */
bool dbr_history_moved(const struct dbr_history *history);
bool dbr_history_has_error_frames(const struct dbr_history *history);

/* Whether the ECU's NAME says that it is an implement. */
bool dbr_ecu_is_implement(const struct dbr_ecu *ecu);

/*
 * What to call an ECU: its NAME's function in words with its address, "task
 * controller (247)"; else the usual holder of the address with a question mark,
 * "engine? (0)"; else "address 131". Where it told a name for itself, that comes in
 * between, in quotes and cut at 24 characters: `rate control "Spreader" (128)`,
 * `"Spreader" (131)`. Writes at most `size` bytes with the NUL; DBR_LABEL_MAX hold any.
 */
void dbr_ecu_label(char *out, size_t size, const struct dbr_ecu *ecu);

/* The same without the told name, where space is short. */
void dbr_ecu_short_label(char *out, size_t size, const struct dbr_ecu *ecu);

/* The address of the master of the working set that an ECU belongs to, its own where it leads one;
 * -1: it belongs to none that the recording shows. */
int dbr_history_master(const struct dbr_history *history, const struct dbr_ecu *ecu);

/* The ECU at an address, or NULL. */
const struct dbr_ecu *dbr_history_ecu(const struct dbr_history *history, uint8_t interface,
                                      uint8_t address);

/* The spells of not_available that came after the first value: what was there and went. */
struct dbr_spells dbr_speed_went_unavailable(const struct dbr_speed_source *source);

/* The source that is what `source` was in another recording: same address, kind and group. NULL. */
const struct dbr_speed_source *dbr_history_source_like(const struct dbr_history *history,
                                                       const struct dbr_speed_source *source);

/* The story of the description of the ECU at an address; NULL: it spoke of none. */
const struct dbr_device_story *dbr_history_device(const struct dbr_history *history,
                                                  uint8_t interface, uint8_t address);

/* An element of that description, by its number; NULL where it is not known. */
const struct dbr_device_object *dbr_history_element(const struct dbr_history *history,
                                                    uint8_t interface, uint8_t address,
                                                    uint16_t number);

/* What to call an element: its number and, where it is known, its name: element 3 "Left belt".
 * Writes at most `size` bytes with the NUL. Returns out. */
const char *dbr_element_label(char *out, size_t size, const struct dbr_history *history,
                              uint8_t interface, uint8_t address, uint16_t number);

DBR_API_END

#endif
