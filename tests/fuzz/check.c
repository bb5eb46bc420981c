/*
 * check.c - the whole check: frames as a recording in memory, read, tracked, judged, reported.
 *
 * The head of the input: byte 0 options (bits below), byte 1 the batch of the second reading,
 * bytes 2-3 and 4-5 sixteenths of seconds at which to begin and to end. The page, which takes
 * as long as all the rest, is made for one input in four.
 */
#include <stdlib.h>
#include <string.h>

#include "fuzz/definitions_once.h"
#include "fuzz/packed.h"
#include "fuzz/reports.h"
#include "fuzz/target.h"
#include "fuzz/written.h"

#define OPTION_UNTIMED 0x01u
#define OPTION_RELATIVE 0x02u
#define OPTION_FROM 0x04u
#define OPTION_TO 0x08u
#define OPTION_US 0x10u

#define START_NS INT64_C(1717000000000000000)
#define START_RELATIVE_NS INT64_C(12345678000)
#define NS_PER_S INT64_C(1000000000)

static struct memory_file file;

static void put_recording(struct dbr_frame *frames, size_t count, uint8_t options)
{
    struct dbr_writing_options writing = {.form = DBR_FORM_PCAPNG,
                                          .time_base = DBR_TIME_EPOCH,
                                          .start_ns = START_NS,
                                          .interface_count = PACKED_INTERFACES,
                                          .interfaces = written_names};

    if (options & OPTION_RELATIVE) {
        writing.time_base = DBR_TIME_RELATIVE;
        writing.start_ns = START_RELATIVE_NS;
    }
    if (options & OPTION_UNTIMED) {
        writing.form = DBR_FORM_TEXT;
        writing.time_base = DBR_TIME_NONE;
    }
    written_put(&file, &writing, frames, count);
}

static struct dbr_reading_options reading_of(const uint8_t *head)
{
    struct dbr_reading_options options = {.lead_in = true};

    if (head[0] & OPTION_FROM)
        options.from = (struct dbr_moment){
            DBR_MOMENT_FROM_START, (head[2] | head[3] << 8) * NS_PER_S / 16};
    if (head[0] & OPTION_TO)
        options.to = (struct dbr_moment){
            DBR_MOMENT_FROM_START, (head[4] | head[5] << 8) * NS_PER_S / 16};
    return options;
}

static struct dbr_recording *open_recording(const uint8_t *head)
{
    struct dbr_reading_options options = reading_of(head);
    struct dbr_recording *recording = NULL;
    const char *path = file.path;

    MUST(dbr_recording_open(&recording, &path, 1, &options, NULL) == 0);
    return recording;
}

/* Frames before the window tell who is who; those in it are judged. */
static void track(struct dbr_tracking *tracking, struct dbr_recording *recording, size_t capacity)
{
    static struct dbr_batch batch;
    int got;

    batch.capacity = capacity;
    while ((got = dbr_recording_next(recording, &batch, NULL)) > 0) {
        int64_t from_ns = dbr_recording_info(recording)->from_ns;
        size_t before = 0;
        while (before < batch.count && batch.frames[before].at_ns < from_ns)
            before++;
        MUST(dbr_tracking_lead_in(tracking, batch.frames, before, NULL) == 0);
        if (before < batch.count)
            dbr_tracking_frames(tracking, batch.frames + before, batch.count - before);
    }
    MUST(got == 0);
}

static struct dbr_closeups *look_closely(const struct dbr_diagnosis *diagnosis,
                                         const struct dbr_history *history, const uint8_t *head)
{
    static struct dbr_batch batch = {.capacity = DBR_BATCH_FRAMES};
    struct dbr_closeup_window windows[DBR_CLOSEUPS_MAX];
    size_t count = dbr_closeup_windows(diagnosis, windows, DBR_CLOSEUPS_MAX);
    struct dbr_recording *recording = open_recording(head);

    MUST(count <= DBR_CLOSEUPS_MAX);
    struct dbr_closeups *closeups =
        dbr_closeups_new(definitions_once(), history, windows, count, NULL);
    MUST(closeups != NULL);
    while (dbr_recording_next(recording, &batch, NULL) > 0)
        dbr_closeups_frames(closeups, batch.frames, batch.count);
    MUST(dbr_closeups_finish(closeups, NULL) == 0);
    dbr_recording_close(recording);
    MUST(dbr_closeups_count(closeups) == count);
    return closeups;
}

/* A check of the recording, and with `whole` all that must hold of it. Returns its JSON, to be
 * freed. */
static char *check(const uint8_t *head, size_t capacity, bool whole, bool page)
{
    const struct dbr_tracking_options options = {.bitrate = 250000};
    struct dbr_tracking *tracking = dbr_tracking_new(definitions_once(), &options, NULL);
    struct dbr_recording *recording = open_recording(head);

    MUST(tracking != NULL);
    track(tracking, recording, capacity);
    struct report_wish wish = {.info = dbr_recording_info(recording),
                               .page = page,
                               .units = head[0] & OPTION_US ? DBR_UNITS_US : DBR_UNITS_METRIC};
    wish.history = dbr_tracking_finish(tracking, wish.info, NULL);
    MUST(wish.history != NULL);
    struct dbr_diagnosis *diagnosis = diagnosis_must_hold(&wish);
    struct dbr_closeups *closeups = page ? look_closely(diagnosis, wish.history, head) : NULL;
    wish.closeups = closeups;
    if (whole)
        reports_must_hold(&wish, diagnosis);
    char *json = report_json(&wish, diagnosis);
    dbr_closeups_free(closeups);
    dbr_diagnosis_free(diagnosis);
    dbr_tracking_free(tracking);
    dbr_recording_close(recording);
    return json;
}

/* The same recording gives the same report, whatever the size of the batches. */
static void check_run(const uint8_t *data, size_t size)
{
    static struct dbr_frame frames[PACKED_FRAMES_MAX];
    size_t count = packed_frames(frames, data, size);

    if (count == 0)
        return;
    put_recording(frames, count, data[0]);
    char *json = check(data, DBR_BATCH_FRAMES, true, count % 4 == 0);
    char *again = check(data, 1 + data[1] % 32, false, false);
    MUST(strcmp(json, again) == 0);
    free(json);
    free(again);
}

const struct fuzz_target check_target = {.name = "check",
                                         .size_max = PACKED_HEAD + 512 * PACKED_FRAME,
                                         .run = check_run,
                                         .mutate = packed_mutate};
