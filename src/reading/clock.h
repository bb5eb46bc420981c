/*
 * clock.h - the stamps of a recording as one time: from the first frame on, only forward.
 *
 * What it finds of the recorder's clock it tells in the info of the recording: the start, the
 * last time, the steps that were taken out.
 */
#ifndef DRAWBAR_READING_CLOCK_H
#define DRAWBAR_READING_CLOCK_H

#include <stdbool.h>
#include <stdint.h>

#include "drawbar/reading.h"

struct clock {
    bool started;
    int64_t correction; /* ns, added to stamps: clock steps taken out */
};

/* The sum, or the limit that it would exceed: stamps and steps of a damaged file are anything. The
 * limits are such that the negative of a sum is one. */
int64_t clock_sum(int64_t a, int64_t b);

/* Makes the stamp count from the first frame and never run backwards. `shift` is added to stamps
 * of this file; `begun`: it is not the first frame of the file. */
void clock_set(struct clock *c, struct dbr_recording_info *info, int64_t shift, bool begun,
               struct dbr_frame *frame);

/* The shift of a file put behind what was read so far, whose first stamp is given. */
int64_t clock_shift_behind(const struct clock *c, const struct dbr_recording_info *info,
                           int64_t first_stamp);

/* A moment of the command line in time since the first frame, known once that was read. */
int64_t clock_moment(const struct dbr_recording_info *info, const struct dbr_moment *moment,
                     int64_t otherwise);

#endif
