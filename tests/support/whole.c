/* whole.c - see whole.h. */
#include "support/whole.h"

#include <criterion/criterion.h>
#include <stdlib.h>

#include "support/real.h"

static struct dbr_batch batch;

static void read_all(struct whole *w, const char *const *paths, size_t count, size_t batch_frames)
{
    const struct dbr_tracking_options tracking = {.bitrate = 250000};
    const struct dbr_diagnosis_options options = {.units = DBR_UNITS_METRIC};
    int read;

    w->definitions = dbr_definitions_new(&w->error);
    if (!w->definitions || dbr_recording_open(&w->recording, paths, count, NULL, &w->error) < 0)
        return;
    w->tracking = dbr_tracking_new(w->definitions, &tracking, &w->error);
    batch.capacity = batch_frames;
    while ((read = dbr_recording_next(w->recording, &batch, &w->error)) > 0)
        dbr_tracking_frames(w->tracking, batch.frames, (size_t)read);
    if (read < 0)
        return;
    w->info = dbr_recording_info(w->recording);
    w->history = dbr_tracking_finish(w->tracking, w->info, &w->error);
    w->diagnosis = dbr_diagnosis_new(w->history, w->info, &options, &w->error);
}

struct whole *whole_read_in(const char *const *paths, size_t count, size_t batch_frames)
{
    struct whole *w = calloc(1, sizeof *w);

    read_all(w, paths, count, batch_frames);
    return w;
}

struct whole *whole_read(const char *const *paths, size_t count)
{
    return whole_read_in(paths, count, DBR_BATCH_FRAMES);
}

struct whole *whole_read_data(const char *name)
{
    char path[1024];

    real_path(path, sizeof path, name);
    struct whole *w = whole_read((const char *[]){path}, 1);
    cr_assert_not_null(w->diagnosis, "%s: %s", name, w->error.text);
    return w;
}

void whole_free(struct whole *w)
{
    dbr_diagnosis_free(w->diagnosis);
    dbr_tracking_free(w->tracking);
    dbr_recording_close(w->recording);
    dbr_definitions_free(w->definitions);
    free(w);
}

bool whole_first_frame(const char *path, uint32_t id, struct dbr_frame *frame)
{
    struct dbr_recording *recording;
    bool found = false;

    if (dbr_recording_open(&recording, &path, 1, NULL, NULL) < 0)
        return false;
    batch.capacity = DBR_BATCH_FRAMES;
    while (!found && dbr_recording_next(recording, &batch, NULL) > 0)
        for (size_t i = 0; i < batch.count && !found; i++)
            if (batch.frames[i].id == id) {
                *frame = batch.frames[i];
                found = true;
            }
    dbr_recording_close(recording);
    return found;
}
