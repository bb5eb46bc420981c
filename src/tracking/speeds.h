/*
 * speeds.h - every source of speed on the buses: what it says, and whether that can be.
 *
 * speeds.c takes the values in and judges each source by itself: not available,
 * in error, lost, erratic, distance against speed. witnesses.c judges it by what
 * others say at the same time: stuck at zero, frozen, direction. drops.c finds
 * zeros that come and go. ratios.c keeps how the speeds of each two compare, for
 * the scale.
 */
#ifndef DRAWBAR_TRACKING_SPEEDS_H
#define DRAWBAR_TRACKING_SPEEDS_H

#include "tracking/buses.h"
#include "tracking/ecus.h"
#include "tracking/ratios.h"
#include "tracking/series.h"
#include "tracking/sighting.h"
#include "tracking/spells.h"
#include "tracking/work.h"

#define STILL_MPS 0.05  /* contract, speed-stuck-zero: reads zero */
#define MOVING_MPS 0.5  /* contract, speed-stuck-zero: the machine moves */
/* Sensors show low speeds as zero, up to some 0.5 m/s (common practice, no source): twice that is
 * shown by all of them. */
#define SHOWN_MPS 1.0
#define SPEEDS_TICK_NS (NS_PER_S / 10) /* how often they are compared */

/* SPN 4308 */
enum {
    SELECTS_WHEEL,
    SELECTS_GROUND,
    SELECTS_NAVIGATION,
    SELECTS_BLENDED,
    SELECTS_SIMULATED,
    SELECTS_CODES
};

struct odometer {
    bool counter_known, running;
    bool driven;           /* something was driven since the window began */
    double counter_m;      /* last reading */
    int64_t counter_ns;    /* when */
    double by_counter_m;   /* since the window began */
    double by_speed_m;
    int64_t since_ns;
    double agreed_counter_m, agreed_speed_m; /* the same when the two last agreed in it, */
    int64_t agreed_ns;                       /* then */
};

#define SETTLE_STRETCHES 5u /* the last one ended 4 of them ago: the time to settle (witnesses.c) */

#define DROPS_MAX 5u /* of a second each: enough to tell (drops.c) */

/* Short spells of zero at speed. */
struct drops {
    struct watch now;   /* count: messages that read zero; low, high, mask: what others say */
    double witness_mps; /* what they said last */
    bool varied;        /* they are seen to live */
    size_t count;
    struct dbr_spell kept[DROPS_MAX]; /* not enough yet to tell */
};

/* Lowest and highest value; NAN: none. */
struct range {
    double low, high;
};

struct source {
    struct dbr_speed_source seen;
    const struct bus *bus;
    struct ecu *ecu;
    struct dbr_series_store *series;
    int64_t alive_at_last; /* clock of its bus at its last frame */
    int64_t active_ns;     /* on that clock, without the gaps in which it was lost */

    enum dbr_value_status status; /* of the last frame */
    double mps;                   /* last valid speed */
    int64_t valid_ns;             /* when; -1: never */
    bool simulated;               /* selected speed: SPN 4308 says simulated */
    uint32_t moving_ticks;        /* how often it could be compared to others */
    uint32_t wheel_ticks;         /* of these, while it selected the wheel */
    int direction;                /* -1 unknown, 0 reverse, 1 forward */
    int64_t direction_ns;

    struct watch not_available, in_error, direction_odd, distance_odd;

    int64_t steps[3];     /* times of the last impossible steps, a ring */
    uint64_t step_count;
    struct watch erratic;

    struct watch stuck;
    bool stuck_proven;    /* long enough, and its witnesses are credible */
    int64_t stuck_ns;     /* the present stretch of contradiction since then; -1: none */
    int64_t stuck_seen_ns; /* when it was seen last */
    double witness_mps;   /* what the witnesses said then */
    bool witness_varied;
    struct drops drops;

    int64_t run_since_ns; /* it repeats one value since */
    struct range run;         /* what the others said meanwhile */
    struct range run_settled; /* the same without its first and last seconds */
    struct range run_recent[SETTLE_STRETCHES]; /* not settled yet, latest first */
    int64_t run_recent_ns;    /* when the latest stretch began */
    uint64_t run_mask;
    bool frozen;          /* the run is long enough, and the others changed */

    struct odometer odometer;
};

struct speeds {
    size_t count;
    struct source items[DBR_SPEED_SOURCES_MAX];
    uint64_t beyond; /* values of sources beyond the ceiling */
    int64_t next_tick_ns;
    const struct work *work;
    struct dbr_series_store *series; /* one for each source */
    struct ratios ratios;
};

void speeds_value(struct speeds *sp, const struct sighting *s, const struct role_value *v);

/* Lets time pass: compares the sources with each other ten times a second. */
/* Returns when it has to be called again. */
int64_t speeds_tick(struct speeds *sp, int64_t now);

/* `history` holds the restarts already. */
void speeds_finish(struct speeds *sp, const struct dbr_history *history);
void speeds_release(struct speeds *sp);

/* Whether its last valid speed still tells how fast it goes at `now`. */
bool source_is_fresh(const struct source *src, int64_t now);

/* Fresh, and not known to be wrong at this moment. */
bool source_is_sound(const struct source *src, int64_t now);

/* Whether the machine moves, by the votes of all sound sources; unknown where they are at odds. */
enum dbr_answer speeds_moving(const struct speeds *sp, int64_t now);

/* Whether every source that told a speed told last that the machine stands; false: none did. */
bool speeds_stand(const struct speeds *sp);

/* The median of all sound sources, free-rolling ones first; NAN: none. */
double speeds_median(const struct speeds *sp, int64_t now);

/* Whether any source has a valid speed now. */
bool speeds_any_valid(const struct speeds *sp, int64_t now);

/* An implement's own source of speed, NULL where it has none. */
const struct source *speeds_own(const struct speeds *sp, uint8_t interface, uint8_t address);

/* witnesses.c: compares all sources with each other at one moment; ends what is on. */
void witnesses_tick(struct speeds *sp, int64_t now);
void witnesses_value(struct source *src, double mps, int64_t now);
void witnesses_finish(struct speeds *sp, int64_t end_ns);

/* odometer.c: distance counter against speed. */
void odometer_speed(struct source *src, double mps, int64_t now);
void odometer_counter(struct source *src, const struct role_value *v, int64_t now);

/* verdicts.c: state, reference and ratio of each source, once all is known. */
void speeds_settle(struct speeds *sp);

#endif
