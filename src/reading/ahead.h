/*
 * ahead.h - the next batches are read on a thread of their own while the last one is being used.
 *
 * The thread fills a ring of slots in order, the caller empties them in the same order, so
 * that frames, errors and the end come as they would without it. A slot is touched by the
 * one or by the other, never by both; `filled` says by whom, under the lock. Whoever has to
 * wait does so until half the ring is there for it: waking up costs more than a batch.
 *
 * Signals stay with the threads of the program: the thread lets none in.
 */
#ifndef DRAWBAR_READING_AHEAD_H
#define DRAWBAR_READING_AHEAD_H

#include <stdatomic.h>
#include <stddef.h>

#include "drawbar/reading.h"

struct ahead_slot {
    struct dbr_batch batch;         /* `capacity` is set */
    struct dbr_recording_info info; /* as of this batch */
    int result;                     /* of reading it: frames, 0 at the end, -1 and `error` */
    struct dbr_error error;
};

/* Fills the batch, the info, and in `result` what came of it. The first result below 1 is the last. */
typedef void ahead_fill(void *context, struct ahead_slot *slot);

struct ahead;

/*
 * Starts to read, batches of `capacity` frames. From here on only the thread touches what
 * `context` points to. `*stopping` becomes true when nothing more is wanted, so that a wait
 * for bytes can end. NULL where there is no memory or no thread: read without, then.
 */
struct ahead *ahead_start(ahead_fill *fill, void *context, size_t capacity,
                          atomic_bool *stopping);

/* As dbr_recording_next; `*info` is as of the frames delivered, or of up to a batch later where
 * `batch` takes fewer than `capacity`. */
int ahead_next(struct ahead *a, struct dbr_batch *batch, struct dbr_recording_info *info,
               struct dbr_error *error);

/* As dbr_recording_lend. Not to be mixed with ahead_next. */
int ahead_lend(struct ahead *a, const struct dbr_batch **batch, struct dbr_recording_info *info,
               struct dbr_error *error);

/* Ends the thread and gives `context` back; NULL is allowed. */
void ahead_stop(struct ahead *a);

#endif
