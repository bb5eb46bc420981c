/*
 * recording.c - several files as one recording, in time order, with time that only runs forward.
 *
 * Rotated files follow each other; files of two recorders on two buses overlap.
 * Both are the same task: deliver the earliest frame that any file has next. A
 * file is opened once its first stamp is due, so that a hundred rotated files
 * need the memory of one.
 *
 * Without absolute time nothing tells how files belong together: they are then
 * put end to end in the order given, and the info says so.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/reading.h"
#include "reading/ahead.h"
#include "reading/clock.h"
#include "reading/echo.h"
#include "reading/frame_bits.h"
#include "reading/input.h"
#include "reading/source.h"

struct dbr_recording {
    struct dbr_recording_info told; /* what the caller sees */
    struct ahead *ahead; /* NULL: the caller's thread reads. Else all below belongs to its thread */
    atomic_bool closing;
    struct dbr_batch *lent; /* NULL until lent without a thread */
    struct dbr_recording_info info;
    struct dbr_reading_options options;
    struct interface_table interfaces;
    struct input *inputs;
    struct dbr_file_info *files; /* copies for the info, in the order of inputs */
    struct echo echo;
    struct bit_tables *bit_tables; /* NULL: bits are not asked for */
    struct clock clock;
};

static int activate(struct dbr_recording *r, struct input *in, struct dbr_error *error)
{
    size_t active = 0;

    for (size_t i = 0; i < r->info.file_count; i++)
        active += r->inputs[i].open;
    if (active >= DBR_OPEN_FILES_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "%s: more than %u files overlap in time",
                             in->source.info.path, DBR_OPEN_FILES_MAX);
    input_reopen(in, &r->interfaces);
    return 0;
}

static int compare_inputs(const void *a, const void *b)
{
    const struct input *x = a, *y = b;

    if (x->empty != y->empty)
        return x->empty ? 1 : -1;
    return (x->first_stamp > y->first_stamp) - (x->first_stamp < y->first_stamp);
}

/* The common time base of all files that hold frames; files without clock and files with one
 * cannot be put in order. */
static int settle_time_base(struct dbr_recording *r, struct dbr_error *error)
{
    const struct input *first = NULL;

    for (size_t i = 0; i < r->info.file_count; i++) {
        const struct input *in = &r->inputs[i];
        if (in->empty)
            continue;
        if (!first)
            first = in;
        if (in->time_base != first->time_base)
            return dbr_error_set(error, DBR_ERROR_USAGE,
                                 "%s and %s cannot be joined: their time stamps are of different "
                                 "kinds; check them one by one",
                                 first->source.info.path, in->source.info.path);
    }
    r->info.time_base = first ? first->time_base : DBR_TIME_NONE;
    return 0;
}

static int probe_inputs(struct dbr_recording *r, const char *const *paths,
                        struct dbr_error *error)
{
    for (size_t i = 0; i < r->info.file_count; i++) {
        r->inputs[i].source.info.path = paths[i];
        r->inputs[i].halt = r->options.stop;
        if (input_probe(&r->inputs[i], &r->interfaces, r->info.file_count > 1, error) < 0)
            return -1;
    }
    if (settle_time_base(r, error) < 0)
        return -1;
    if (r->info.time_base == DBR_TIME_EPOCH)
        qsort(r->inputs, r->info.file_count, sizeof *r->inputs, compare_inputs);
    else
        r->info.joined_without_clock = r->info.file_count > 1;
    return 0;
}

/* When the first undelivered frame of a file happened. An active file always has one. */
static int64_t head_stamp(const struct input *in)
{
    int64_t stamp = in->state == INPUT_WAITING ? in->first_stamp
                                               : in->batch->frames[in->used].at_ns;
    return clock_sum(stamp, in->shift);
}

/* The file that is next: end to end where there is no clock, else the one with the earliest
 * frame. NULL when all are done. */
static struct input *next_input(struct dbr_recording *r)
{
    struct input *best = NULL;

    for (size_t i = 0; i < r->info.file_count; i++) {
        struct input *in = &r->inputs[i];
        if (in->state == INPUT_DONE)
            continue;
        if (!best || head_stamp(in) < head_stamp(best))
            best = in;
        if (r->info.time_base != DBR_TIME_EPOCH)
            break;
    }
    return best;
}

static bool is_wanted(const struct dbr_recording *r, const struct dbr_frame *frame)
{
    const char *only = r->options.interface;

    return (frame->at_ns >= r->info.from_ns || r->options.lead_in) &&
           (frame->at_ns <= r->info.to_ns || r->options.lead_out) &&
           (!only || strcmp(only, r->interfaces.names[frame->interface]) == 0);
}

static void start(struct dbr_recording *r)
{
    r->info.from_ns = clock_moment(&r->info, &r->options.from, INT64_MIN);
    r->info.to_ns = clock_moment(&r->info, &r->options.to, INT64_MAX);
}

static void deliver(struct dbr_recording *r, const struct dbr_frame *frame, struct dbr_batch *out)
{
    if (r->bit_tables)
        out->bits[out->count] = (uint16_t)frame_bits(r->bit_tables, frame);
    out->frames[out->count++] = *frame;
}

/*
 * Takes frames of one file until the batch is full, the file is drained, or another is due. All
 * work is done where the file's own batch is: the one to fill may still be in the cache of
 * another processor, and reading back what was just written there would wait for it each time.
 */
static void take_frames(struct dbr_recording *r, struct input *in, struct dbr_batch *out,
                        int64_t until)
{
    while (in->used < in->batch->count && out->count < out->capacity && head_stamp(in) <= until) {
        struct dbr_frame *frame = &in->batch->frames[in->used++];
        bool first = r->info.frames == 0;
        clock_set(&r->clock, &r->info, in->shift, in->begun, frame);
        in->begun = true;
        if (first)
            start(r);
        r->info.frames++;
        if (echo_mark(&r->echo, frame))
            r->info.copies++;
        if (is_wanted(r, frame))
            deliver(r, frame, out);
    }
    if (in->used == in->batch->count)
        input_refill(in);
}

/* Files end to end: the next one begins where the last one stopped. */
static void place_end_to_end(struct dbr_recording *r, struct input *in)
{
    in->placed = true;
    if (r->info.time_base != DBR_TIME_EPOCH)
        in->shift = clock_shift_behind(&r->clock, &r->info, in->first_stamp);
}

/* The earliest head among the other files: until then `current` may go on alone. */
static int64_t next_due(const struct dbr_recording *r, const struct input *current)
{
    int64_t due = INT64_MAX;

    if (r->info.time_base != DBR_TIME_EPOCH)
        return due;
    for (size_t i = 0; i < r->info.file_count; i++) {
        const struct input *in = &r->inputs[i];
        if (in != current && in->state != INPUT_DONE && head_stamp(in) < due)
            due = head_stamp(in);
    }
    return due;
}

/* A frame names its interface by its index, so names must be known as soon as frames are. */
static void publish_interfaces(struct dbr_recording *r)
{
    for (; r->info.interface_count < r->interfaces.count; r->info.interface_count++)
        r->info.interfaces[r->info.interface_count] = r->interfaces.names[r->info.interface_count];
}

static void publish_files(struct dbr_recording *r)
{
    for (size_t i = 0; i < r->info.file_count; i++)
        r->files[i] = r->inputs[i].source.info;
}

/* Nothing at all was a frame: then this was no recording, and the first complaint says why. */
static int no_frames(const struct dbr_recording *r, struct dbr_error *error)
{
    const struct dbr_file_info *file = &r->files[0];
    const struct dbr_rejected *first = NULL;
    enum dbr_rejection why = DBR_REJECTION_NOT_A_FRAME;

    for (int i = 0; i < DBR_REJECTION_COUNT; i++)
        if (file->rejections[i].count && (!first || file->rejections[i].first_at < first->first_at)) {
            first = &file->rejections[i];
            why = (enum dbr_rejection)i;
        }
    if (!first)
        return dbr_error_set(error, DBR_ERROR_EMPTY, "%s: holds no CAN frames%s%s", file->path,
                             file->truncated ? ": " : "", file->truncated_why);
    return dbr_error_set(error, DBR_ERROR_FORMAT, "%s: holds no CAN frames: %s %llu: %s",
                         file->path, file->by_line ? "line" : "packet",
                         (unsigned long long)first->first_at, dbr_rejection_words(why));
}

/* The way of dbr_recording_next on one thread. */
static int read_batch(struct dbr_recording *r, struct dbr_batch *batch, struct dbr_error *error)
{
    struct input *in;

    batch->count = 0;
    while (batch->count < batch->capacity && (in = next_input(r))) {
        if (!in->placed)
            place_end_to_end(r, in);
        if (in->state == INPUT_WAITING) {
            if (activate(r, in, error) < 0)
                return -1;
        } else {
            take_frames(r, in, batch, next_due(r, in));
        }
    }
    publish_interfaces(r);
    if (batch->count > 0)
        return (int)batch->count;
    publish_files(r);
    return r->info.frames > 0 ? 0 : no_frames(r, error);
}

static void fill_slot(void *context, struct ahead_slot *slot)
{
    struct dbr_recording *r = context;

    slot->result = read_batch(r, &slot->batch, &slot->error);
    slot->info = r->info;
}

/* Without memory or a thread for it everything is read on this one. */
static void start_ahead(struct dbr_recording *r, size_t capacity)
{
    for (size_t i = 0; i < r->info.file_count; i++)
        input_stop_on(&r->inputs[i], &r->closing);
    r->ahead = ahead_start(fill_slot, r, capacity, &r->closing);
    r->options.threads = r->ahead ? 2 : 1;
}

static bool is_ahead(struct dbr_recording *r, size_t capacity)
{
    if (r->options.threads > 1 && !r->ahead)
        start_ahead(r, capacity);
    return r->ahead != NULL;
}

int dbr_recording_next(struct dbr_recording *r, struct dbr_batch *batch, struct dbr_error *error)
{
    if (is_ahead(r, batch->capacity))
        return ahead_next(r->ahead, batch, &r->told, error);
    int result = read_batch(r, batch, error);
    r->told = r->info;
    return result;
}

int dbr_recording_lend(struct dbr_recording *r, const struct dbr_batch **batch,
                       struct dbr_error *error)
{
    if (is_ahead(r, DBR_BATCH_FRAMES))
        return ahead_lend(r->ahead, batch, &r->told, error);
    if (!r->lent)
        r->lent = malloc(sizeof *r->lent);
    if (!r->lent)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    r->lent->capacity = DBR_BATCH_FRAMES;
    *batch = r->lent;
    return dbr_recording_next(r, r->lent, error);
}

const struct dbr_recording_info *dbr_recording_info(const struct dbr_recording *r)
{
    return &r->told;
}

/* False where memory is out. */
static bool take_options(struct dbr_recording *r, const struct dbr_reading_options *options)
{
    if (options)
        r->options = *options;
    if (!r->options.measure)
        return true;
    r->bit_tables = malloc(sizeof *r->bit_tables);
    if (r->bit_tables)
        bit_tables_init(r->bit_tables);
    return r->bit_tables != NULL;
}

int dbr_recording_open(struct dbr_recording **recording, const char *const *paths, size_t count,
                       const struct dbr_reading_options *options, struct dbr_error *error)
{
    struct dbr_recording *r = calloc(1, sizeof *r);

    *recording = NULL;
    if (r) {
        r->inputs = calloc(count, sizeof *r->inputs);
        r->files = calloc(count, sizeof *r->files);
    }
    if (!r || !r->inputs || !r->files || !take_options(r, options)) {
        dbr_recording_close(r);
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    }
    r->info.file_count = count;
    r->info.files = r->files;
    if (probe_inputs(r, paths, error) < 0) {
        dbr_recording_close(r);
        return -1;
    }
    r->told = r->info;
    *recording = r;
    return 0;
}

void dbr_recording_close(struct dbr_recording *r)
{
    if (!r)
        return;
    ahead_stop(r->ahead);
    free(r->lent);
    free(r->bit_tables);
    for (size_t i = 0; r->inputs && i < r->info.file_count; i++)
        input_close(&r->inputs[i]);
    free(r->inputs);
    free(r->files);
    free(r);
}
