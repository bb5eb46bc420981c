/* ahead.c - see ahead.h. */
#include "reading/ahead.h"

#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define HALF (DBR_AHEAD_BATCHES / 2)

struct ahead {
    ahead_fill *fill;
    void *context;
    size_t capacity;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t moved; /* only one side can be waiting: the ring is not full and empty at once */
    size_t filled;        /* slots that are read and not used up */
    bool ended;           /* the last slot that will ever be filled is */
    atomic_bool *stopping;
    size_t write_at;      /* the thread's: the slot to fill next */
    size_t read_at, used; /* the caller's: the slot in use, and how many of its frames are gone */
    struct ahead_slot slots[DBR_AHEAD_BATCHES];
};

static size_t after(size_t slot)
{
    return (slot + 1) % DBR_AHEAD_BATCHES;
}

/* False where no more is wanted. */
static bool wait_for_room(struct ahead *a)
{
    pthread_mutex_lock(&a->lock);
    if (a->filled == DBR_AHEAD_BATCHES)
        while (a->filled > HALF && !*a->stopping)
            pthread_cond_wait(&a->moved, &a->lock);
    pthread_mutex_unlock(&a->lock);
    return !*a->stopping;
}

static void publish(struct ahead *a, bool last)
{
    pthread_mutex_lock(&a->lock);
    a->filled++;
    a->ended = last;
    if (last || a->filled >= HALF)
        pthread_cond_signal(&a->moved);
    pthread_mutex_unlock(&a->lock);
}

static void *run(void *argument)
{
    struct ahead *a = argument;
    bool last = false;

    while (!last && wait_for_room(a)) {
        struct ahead_slot *slot = &a->slots[a->write_at];
        slot->batch.capacity = a->capacity;
        a->fill(a->context, slot);
        last = slot->result <= 0;
        a->write_at = after(a->write_at);
        publish(a, last);
    }
    return NULL;
}

/* A new thread starts with the signals that its maker lets in. */
static int start_without_signals(struct ahead *a)
{
    sigset_t all, before;

    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    int failed = pthread_create(&a->thread, NULL, run, a);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return failed;
}

struct ahead *ahead_start(ahead_fill *fill, void *context, size_t capacity,
                          atomic_bool *stopping)
{
    struct ahead *a = malloc(sizeof *a);

    if (!a)
        return NULL;
    a->fill = fill;
    a->context = context;
    a->capacity = capacity;
    a->filled = a->write_at = a->read_at = a->used = 0;
    a->ended = false;
    a->stopping = stopping;
    pthread_mutex_init(&a->lock, NULL);
    pthread_cond_init(&a->moved, NULL);
    if (start_without_signals(a) == 0)
        return a;
    pthread_cond_destroy(&a->moved);
    pthread_mutex_destroy(&a->lock);
    free(a);
    return NULL;
}

static void wait_for_batch(struct ahead *a)
{
    pthread_mutex_lock(&a->lock);
    if (a->filled == 0)
        while (a->filled < HALF && !a->ended)
            pthread_cond_wait(&a->moved, &a->lock);
    pthread_mutex_unlock(&a->lock);
}

static void give_back(struct ahead *a)
{
    a->read_at = after(a->read_at);
    a->used = 0;
    pthread_mutex_lock(&a->lock);
    a->filled--;
    if (a->filled == HALF)
        pthread_cond_signal(&a->moved);
    pthread_mutex_unlock(&a->lock);
}

/* The slot whose frames are next; one that was used up goes back, now that nobody looks at it. */
static const struct ahead_slot *slot_in_use(struct ahead *a)
{
    if (a->used > 0 && a->used == a->slots[a->read_at].batch.count)
        give_back(a);
    if (a->used == 0)
        wait_for_batch(a);
    return &a->slots[a->read_at];
}

/* The end or a failure stays in its slot: whoever asks again is told the same. */
static int tell_end(const struct ahead_slot *slot, struct dbr_error *error)
{
    if (slot->result < 0 && error)
        *error = slot->error;
    return slot->result;
}

int ahead_next(struct ahead *a, struct dbr_batch *batch, struct dbr_recording_info *info,
               struct dbr_error *error)
{
    const struct ahead_slot *slot = slot_in_use(a);
    const struct dbr_batch *from = &slot->batch;

    *info = slot->info;
    batch->count = 0;
    if (slot->result <= 0)
        return tell_end(slot, error);
    size_t left = from->count - a->used;
    batch->count = left < batch->capacity ? left : batch->capacity;
    memcpy(batch->frames, from->frames + a->used, batch->count * sizeof batch->frames[0]);
    memcpy(batch->bits, from->bits + a->used, batch->count * sizeof batch->bits[0]);
    a->used += batch->count;
    return (int)batch->count;
}

int ahead_lend(struct ahead *a, const struct dbr_batch **batch, struct dbr_recording_info *info,
               struct dbr_error *error)
{
    const struct ahead_slot *slot = slot_in_use(a);

    *info = slot->info;
    *batch = &slot->batch;
    if (slot->result <= 0)
        return tell_end(slot, error);
    a->used = slot->batch.count;
    return slot->result;
}

void ahead_stop(struct ahead *a)
{
    if (!a)
        return;
    pthread_mutex_lock(&a->lock);
    *a->stopping = true;
    pthread_cond_signal(&a->moved);
    pthread_mutex_unlock(&a->lock);
    pthread_join(a->thread, NULL);
    pthread_cond_destroy(&a->moved);
    pthread_mutex_destroy(&a->lock);
    free(a);
}
