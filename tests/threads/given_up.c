/*
 * given_up.c - recordings that are closed before their end, in batches of all sizes, copied and
 * lent, while a thread reads ahead.
 *
 * given_up RECORDING...: 0 where as many frames came as were asked for. Criterion cannot run
 * under the thread sanitizer; what comes of reading ahead is tested in tests/unit/reading.
 */
#include <stdio.h>
#include <stdlib.h>

#include "drawbar/reading.h"

static int fail(const char *path, const char *why)
{
    fprintf(stderr, "%s: %s\n", path, why);
    return -1;
}

/* Takes `batches` at most, of `capacity` frames each; 0 is lent ones. */
static int read_some(const char *path, int batches, size_t capacity)
{
    const struct dbr_reading_options options = {.threads = 2, .measure = true};
    struct dbr_batch *batch = calloc(1, sizeof *batch);
    const struct dbr_batch *lent = batch;
    struct dbr_recording *recording;
    struct dbr_error error;
    uint64_t taken = 0;
    int count = 1;

    if (!batch || dbr_recording_open(&recording, &path, 1, &options, &error) < 0) {
        free(batch);
        return fail(path, batch ? error.text : "out of memory");
    }
    batch->capacity = capacity;
    for (int i = 0; i < batches && count > 0; i++) {
        count = capacity > 0 ? dbr_recording_next(recording, batch, &error)
                             : dbr_recording_lend(recording, &lent, &error);
        taken += lent->count;
    }
    const struct dbr_recording_info *info = dbr_recording_info(recording);
    int status = count < 0                                     ? fail(path, error.text)
                 : count == 0 && taken != info->files[0].frames ? fail(path, "frames are missing")
                                                               : 0;
    dbr_recording_close(recording);
    free(batch);
    return status;
}

int main(int argc, char **argv)
{
    static const size_t capacities[] = {0, 1, 7, 300, DBR_BATCH_FRAMES};
    int status = 0;

    for (int i = 1; i < argc; i++)
        for (size_t k = 0; k < sizeof capacities / sizeof capacities[0]; k++)
            for (int batches = 0; batches < 60; batches = 2 * batches + 1)
                status |= read_some(argv[i], batches, capacities[k]);
    return status == 0 ? 0 : 1;
}
