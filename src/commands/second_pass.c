/* second_pass.c - see second_pass.h. */
#include "commands/second_pass.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool can_be_read_twice(const char *const *paths, size_t count)
{
    struct stat status;

    for (size_t i = 0; i < count; i++)
        if (strcmp(paths[i], "-") == 0 || stat(paths[i], &status) < 0 || !S_ISREG(status.st_mode))
            return false;
    return true;
}

/* Up to the end of the last window: what comes after it is not read again. */
static int read_again(struct dbr_closeups *closeups, struct dbr_recording *recording,
                      int64_t last_ns, struct dbr_error *error)
{
    struct dbr_batch *batch = malloc(sizeof *batch);
    int read;

    if (!batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    batch->capacity = DBR_BATCH_FRAMES;
    while ((read = dbr_recording_next(recording, batch, error)) > 0) {
        dbr_closeups_frames(closeups, batch->frames, batch->count);
        if (batch->frames[batch->count - 1].at_ns > last_ns)
            break;
    }
    free(batch);
    return dbr_closeups_finish(closeups, read < 0 ? NULL : error) < 0 || read < 0 ? -1 : 0;
}

int second_pass(struct dbr_closeups **closeups, const struct analysis *a, const struct request *r,
                const char *const *paths, size_t count, struct dbr_error *error)
{
    struct dbr_closeup_window windows[DBR_CLOSEUPS_MAX];
    size_t window_count = dbr_closeup_windows(a->made->diagnosis, windows, DBR_CLOSEUPS_MAX);
    struct dbr_recording *recording = NULL;
    struct dbr_reading_options reading = r->reading;
    int64_t last_ns = 0;

    *closeups = NULL;
    if (window_count == 0 || !can_be_read_twice(paths, count))
        return 0;
    for (size_t i = 0; i < window_count; i++)
        last_ns = windows[i].end_ns > last_ns ? windows[i].end_ns : last_ns;
    reading.stop = NULL; /* that ended the first pass */
    if (dbr_recording_open(&recording, paths, count, &reading, error) < 0)
        return -1;
    *closeups =
        dbr_closeups_new(a->made->definitions, a->made->history, windows, window_count, error);
    int status = *closeups ? read_again(*closeups, recording, last_ns, error) : -1;
    dbr_recording_close(recording);
    if (status < 0) {
        dbr_closeups_free(*closeups);
        *closeups = NULL;
    }
    return status;
}
