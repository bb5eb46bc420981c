/* whole.h - a recording from its file to its findings, as the check command does it. */
#ifndef TESTS_SUPPORT_WHOLE_H
#define TESTS_SUPPORT_WHOLE_H

#include "drawbar/diagnosis.h"
#include "drawbar/tracking.h"

struct whole {
    struct dbr_definitions *definitions;
    struct dbr_recording *recording;
    struct dbr_tracking *tracking;
    const struct dbr_recording_info *info;
    const struct dbr_history *history;
    struct dbr_diagnosis *diagnosis; /* NULL after a failure; then `error` says why */
    struct dbr_error error;
};

struct whole *whole_read(const char *const *paths, size_t count);

/* The same in batches of so many frames. */
struct whole *whole_read_in(const char *const *paths, size_t count, size_t batch_frames);
/* A real recording by its name below the folder of data (real.h). Where it is absent the running
 * test is skipped; fails the test where it cannot be analysed. */
struct whole *whole_read_data(const char *name);
void whole_free(struct whole *w);

/* The first frame with this identifier in a file. */
bool whole_first_frame(const char *path, uint32_t id, struct dbr_frame *frame);

#endif
