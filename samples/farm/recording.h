/*
 * recording.h - frames as a recorder stamped them, in memory.
 *
 *     struct farm_recording r = {0};
 *     if (farm_simulate(&scenario, &r))
 *         ... r.items[0 .. r.count-1], in the order of time ...
 *     farm_recording_release(&r);
 */
#ifndef FARM_RECORDING_H
#define FARM_RECORDING_H

#include <stddef.h>

#include "farm/frame.h"

/* Key-on of every recording: 2024-05-29 16:26:40 UTC. */
#define FARM_EPOCH_S INT64_C(1717000000)

#define FARM_RECORDS_MAX (1u << 20) /* two hours of this machine */

struct farm_record {
    int64_t at_ns; /* since FARM_EPOCH_S; the end of the frame */
    struct farm_frame frame;
};

struct farm_recording {
    struct farm_record *items; /* owned */
    size_t count, room;
    bool failed; /* no memory, or more than FARM_RECORDS_MAX */
};

void farm_recording_add(struct farm_recording *r, int64_t at_ns, const struct farm_frame *frame);
void farm_recording_release(struct farm_recording *r);

#endif
