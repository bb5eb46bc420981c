/*
 * buses.h - health of each bus: load, error frames, state of the recorder's
 * controller, pauses; and the clock on which "the bus goes on" is measured.
 */
#ifndef DRAWBAR_TRACKING_BUSES_H
#define DRAWBAR_TRACKING_BUSES_H

#include "drawbar/tracking.h"
#include "tracking/series.h"
#include "tracking/spells.h"

#define LOAD_STEPS 10u /* the load of one second, in steps of a tenth */

struct bus {
    struct dbr_bus seen;

    /*
     * Runs while the bus carries traffic: a silence of the bus adds half a second, however long
     * it lasts. On this clock a source that is silent because the whole bus is silent does not age.
     */
    int64_t alive_ns;
    int64_t last_traffic_ns;
    uint64_t traffic; /* frames other than error frames */
    uint64_t pauses;  /* silences of the bus */
    uint64_t gaps;    /* those that are long enough to miss something in */

    uint64_t bits;
    int64_t first_step, step; /* the tenth of a second that is being filled */
    int64_t step_end_ns;
    uint32_t steps[LOAD_STEPS];
    uint32_t *filling;        /* the one of these */
    struct watch busy, very_busy;
    struct dbr_series_store *load_series, *error_series;

    struct watch key_off;
    struct dbr_spells key_turns; /* the key switch was off, and is on again, as told by messages or
                                    by all that came back (powerups.c) */

    struct watch off, passive, warning, errors, burst;
    uint64_t disturbances;     /* error frames that tell of trouble on the wires */
    int64_t recent[11];        /* times of the last of them, a ring */
    uint64_t kinds[DBR_ERROR_KIND_COUNT]; /* of those less than a second apart */
};

void bus_init(struct bus *b, struct dbr_series_store *load, struct dbr_series_store *errors);
/* `bits`: how long the frame occupies the bus (frame_bits.h). */
void bus_frame(struct bus *b, const struct dbr_frame *frame, unsigned bits, uint32_t bitrate);
void bus_finish(struct bus *b, int64_t end_ns, uint32_t bitrate, bool timed);

#endif
