/*
 * stages.c - what each stage of a check costs, on one recording, in one pass and on one thread.
 *
 * stages RECORDING: a line for each stage, its name and nanoseconds per frame. Stages
 * take turns batch by batch, so that each finds the caches as it does in a check.
 * Stuffed bits are counted inside tracking too: they are told once by themselves and
 * once as part of it; a check counts them where it reads, on the other thread. Decoding, all messages by their definitions, is what print does;
 * a check decodes only what plays a role, as part of tracking.
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "drawbar/decoder.h"
#include "drawbar/reporting.h"
#include "reading/frame_bits.h"

enum stage { READING, DECODING, STUFFED_BITS, TRACKING, REPORTS, STAGE_COUNT };

static const char *const names[STAGE_COUNT] = {"reading", "decoding", "stuffed-bits", "tracking",
                                               "reports"};

struct bench {
    struct dbr_definitions *definitions;
    struct dbr_recording *recording;
    struct dbr_decoder *decoder;
    struct dbr_tracking *tracking;
    struct bit_tables tables;
    struct dbr_batch batch;
    uint64_t frames, bits;
    double values; /* a sum of all that was decoded, so that nothing is left out as unused */
    double ns[STAGE_COUNT], since;
};

/* The time of this thread on a processor: what else the machine does is left out. */
static double now_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec * 1e9 + (double)t.tv_nsec;
}

static void count_up(struct bench *b, enum stage stage)
{
    double now = now_ns();

    b->ns[stage] += now - b->since;
    b->since = now;
}

static void take_message(void *context, const struct dbr_seen *seen)
{
    struct bench *b = context;

    if (!seen->message || !seen->data)
        return;
    for (size_t i = 0; i < seen->message->signal_count; i++)
        b->values += dbr_signal_decode(&seen->message->signals[i], seen->data, seen->length).number;
}

static void run_batch(struct bench *b)
{
    const struct dbr_frame *frames = b->batch.frames;

    for (size_t i = 0; i < b->batch.count; i++)
        dbr_decoder_frame(b->decoder, &frames[i]);
    count_up(b, DECODING);
    for (size_t i = 0; i < b->batch.count; i++)
        b->bits += frame_bits(&b->tables, &frames[i]);
    count_up(b, STUFFED_BITS);
    dbr_tracking_frames(b->tracking, frames, b->batch.count);
    count_up(b, TRACKING);
    b->frames += b->batch.count;
}

static int report(struct bench *b, const struct dbr_tracking_options *tracking,
                  struct dbr_error *error)
{
    const struct dbr_diagnosis_options options = {.units = DBR_UNITS_METRIC};
    const struct dbr_recording_info *info = dbr_recording_info(b->recording);
    const struct dbr_history *history = dbr_tracking_finish(b->tracking, info, error);
    struct dbr_diagnosis *diagnosis =
        history ? dbr_diagnosis_new(history, info, &options, error) : NULL;
    FILE *out = tmpfile();
    int status = -1;

    if (diagnosis && out) {
        const struct dbr_report report = {.info = info,
                                          .history = history,
                                          .diagnosis = diagnosis,
                                          .bitrate = tracking->bitrate,
                                          .width = 80};
        status = dbr_report_json(out, &report, error);
    }
    if (out)
        fclose(out);
    dbr_diagnosis_free(diagnosis);
    return status;
}

static int run(struct bench *b, const char *path, struct dbr_error *error)
{
    const struct dbr_tracking_options tracking = {.bitrate = 250000};
    int count;

    b->definitions = dbr_definitions_new(error);
    b->decoder = b->definitions ? dbr_decoder_new(b->definitions, take_message, b, error) : NULL;
    b->tracking = b->decoder ? dbr_tracking_new(b->definitions, &tracking, error) : NULL;
    if (!b->tracking || dbr_recording_open(&b->recording, &path, 1, NULL, error) < 0)
        return -1;
    bit_tables_init(&b->tables);
    b->batch.capacity = DBR_BATCH_FRAMES;
    b->since = now_ns();
    while ((count = dbr_recording_next(b->recording, &b->batch, error)) > 0) {
        count_up(b, READING);
        run_batch(b);
    }
    count_up(b, READING);
    if (count < 0 || report(b, &tracking, error) < 0)
        return -1;
    count_up(b, REPORTS);
    return 0;
}

int main(int argc, char **argv)
{
    struct bench *b = calloc(1, sizeof *b);
    struct dbr_error error = {.code = DBR_ERROR_NONE};

    if (argc != 2 || !b)
        return 2;
    if (run(b, argv[1], &error) < 0) {
        fprintf(stderr, "%s\n", error.text);
        return 2;
    }
    for (int i = 0; i < STAGE_COUNT; i++)
        printf("%s %.2f\n", names[i], b->ns[i] / (double)b->frames);
    fprintf(stderr, "%llu bits, sum %g\n", (unsigned long long)b->bits, b->values);
    dbr_recording_close(b->recording);
    dbr_tracking_free(b->tracking);
    dbr_decoder_free(b->decoder);
    dbr_definitions_free(b->definitions);
    free(b);
    return 0;
}
