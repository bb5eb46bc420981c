/* analysis.c - see drawbar/analysis.h. */
#include "drawbar/analysis.h"

#include <stdlib.h>

struct analysis {
    struct dbr_analysis seen; /* first: the public pointer is this struct */
    struct dbr_analysis_options options;
    struct dbr_definitions *own; /* NULL where the caller has loaded them */
    const struct dbr_definitions *definitions;
    struct dbr_rig *rig;
    struct dbr_recording *recording;
    struct dbr_tracking *tracking;
    struct dbr_diagnosis *diagnosis;
};

static int load_definitions(struct analysis *a, struct dbr_error *error)
{
    a->definitions = a->options.loaded;
    if (a->definitions)
        return 0;
    a->definitions = a->own = dbr_definitions_new(error);
    if (!a->own)
        return -1;
    return a->options.definitions
               ? dbr_definitions_load_directory(a->own, a->options.definitions, error)
               : 0;
}

static int load_rig(struct analysis *a, struct dbr_error *error)
{
    if (!a->options.rig)
        return 0;
    a->rig = dbr_rig_load(a->options.rig, error);
    return a->rig ? 0 : -1;
}

/* Frames before the window tell who is who; those in it are judged. */
static int take_batch(struct analysis *a, const struct dbr_batch *batch, struct dbr_error *error)
{
    int64_t from_ns = dbr_recording_info(a->recording)->from_ns;
    size_t before = 0;

    while (before < batch->count && batch->frames[before].at_ns < from_ns)
        before++;
    if (dbr_tracking_lead_in(a->tracking, batch->frames, before, error) < 0)
        return -1;
    if (before < batch->count)
        dbr_tracking_measured(a->tracking, batch->frames + before, batch->bits + before,
                              batch->count - before);
    a->seen.frames += batch->count - before;
    return 0;
}

static int read_frames(struct analysis *a, struct dbr_error *error)
{
    const struct dbr_analysis_options *o = &a->options;
    const struct dbr_batch *batch;
    int count;

    while ((count = dbr_recording_lend(a->recording, &batch, error)) > 0) {
        if (take_batch(a, batch, error) < 0)
            return -1;
        if (o->progress)
            o->progress(o->progress_context, a->seen.frames, batch->frames[count - 1].at_ns);
    }
    return count;
}

static int read_recording(struct analysis *a, const char *const *paths, size_t count,
                          struct dbr_error *error)
{
    a->options.reading.lead_in = true;
    a->options.reading.measure = true;
    if (a->options.tracking.bitrate == 0)
        a->options.tracking.bitrate = DBR_BITRATE_DEFAULT;
    if (load_definitions(a, error) < 0 || load_rig(a, error) < 0 ||
        dbr_recording_open(&a->recording, paths, count, &a->options.reading, error) < 0)
        return -1;
    a->tracking = dbr_tracking_new(a->definitions, &a->options.tracking, error);
    return a->tracking ? read_frames(a, error) : -1;
}

static int judge(struct analysis *a, struct dbr_error *error)
{
    const struct dbr_recording_info *info = dbr_recording_info(a->recording);
    struct dbr_diagnosis_options options = {.units = a->options.units, .rig = a->rig};
    const struct dbr_history *history = dbr_tracking_finish(a->tracking, info, error);

    if (!history)
        return -1;
    a->diagnosis = dbr_diagnosis_new(history, info, &options, error);
    a->seen = (struct dbr_analysis){.info = info,
                                    .history = history,
                                    .diagnosis = a->diagnosis,
                                    .definitions = a->definitions,
                                    .rig = a->rig,
                                    .frames = a->seen.frames,
                                    .bitrate = a->options.tracking.bitrate,
                                    .units = a->options.units};
    return a->diagnosis ? 0 : -1;
}

struct dbr_analysis *dbr_analysis_new(const char *const *paths, size_t count,
                                      const struct dbr_analysis_options *options,
                                      struct dbr_error *error)
{
    struct analysis *a = calloc(1, sizeof *a);

    if (!a) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    if (options)
        a->options = *options;
    if (read_recording(a, paths, count, error) == 0 && judge(a, error) == 0)
        return &a->seen;
    dbr_analysis_free(&a->seen);
    return NULL;
}

void dbr_analysis_free(struct dbr_analysis *analysis)
{
    struct analysis *a = (struct analysis *)analysis;

    if (!a)
        return;
    dbr_diagnosis_free(a->diagnosis);
    dbr_rig_free(a->rig);
    dbr_tracking_free(a->tracking);
    dbr_recording_close(a->recording);
    dbr_definitions_free(a->own);
    free(a);
}
