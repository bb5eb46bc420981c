/* closeup.c - see closeup.h and drawbar/closeup.h. */
#include "tracking/closeup.h"

#include <stdlib.h>

struct dbr_closeups {
    const struct dbr_history *history;
    struct dbr_decoder *decoder;
    int64_t end_ns;   /* of what was taken so far */
    int64_t close_ns; /* the next end of a window */
    size_t count;
    struct closeup *items;
};

static bool is_within(const struct dbr_closeup_window *w, int64_t at)
{
    return at >= w->start_ns && at <= w->end_ns;
}

static void take(void *context, const struct dbr_seen *seen)
{
    struct dbr_closeups *all = context;

    if (seen->kind == DBR_SEEN_FRAGMENT)
        return;
    for (size_t i = 0; i < all->count; i++) {
        struct closeup *c = &all->items[i];
        if (!is_within(&c->seen.window, seen->at_ns))
            continue;
        if (c->closed) { /* a transfer that failed in silence is known only later */
            c->seen.seen++;
            c->seen.left_out++;
            continue;
        }
        closeup_take_message(c, seen);
        if (seen->kind == DBR_SEEN_MESSAGE && seen->data)
            closeup_take_values(c, all->history, seen);
    }
}

/* Closes the windows that end before `now`. */
static void close_windows(struct dbr_closeups *all, int64_t now)
{
    all->close_ns = INT64_MAX;
    for (size_t i = 0; i < all->count; i++) {
        struct closeup *c = &all->items[i];
        if (c->closed)
            continue;
        if (c->seen.window.end_ns < now) {
            closeup_close_messages(c);
            closeup_close_curves(c);
            c->closed = true;
        } else if (c->seen.window.end_ns < all->close_ns) {
            all->close_ns = c->seen.window.end_ns;
        }
    }
}

struct dbr_closeups *dbr_closeups_new(const struct dbr_definitions *definitions,
                                      const struct dbr_history *history,
                                      const struct dbr_closeup_window *windows, size_t count,
                                      struct dbr_error *error)
{
    struct dbr_closeups *all = calloc(1, sizeof *all);

    if (all) {
        all->history = history;
        all->items = calloc(count > 0 ? count : 1, sizeof *all->items);
        all->decoder = dbr_decoder_new(definitions, take, all, error);
    }
    if (!all || !all->items || !all->decoder) {
        dbr_closeups_free(all);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    all->count = count;
    for (size_t i = 0; i < count; i++)
        all->items[i].seen.window = windows[i];
    close_windows(all, INT64_MIN);
    return all;
}

void dbr_closeups_frames(struct dbr_closeups *all, const struct dbr_frame *frames, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        dbr_decoder_frame(all->decoder, &frames[i]);
        all->end_ns = frames[i].at_ns;
        if (all->end_ns > all->close_ns)
            close_windows(all, all->end_ns);
    }
}

int dbr_closeups_finish(struct dbr_closeups *all, struct dbr_error *error)
{
    dbr_decoder_finish(all->decoder, all->end_ns);
    close_windows(all, INT64_MAX);
    bool out_of_memory = dbr_decoder_transport(all->decoder)->out_of_memory;
    for (size_t i = 0; i < all->count; i++)
        out_of_memory = out_of_memory || all->items[i].out_of_memory;
    return out_of_memory ? dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory") : 0;
}

size_t dbr_closeups_count(const struct dbr_closeups *all)
{
    return all->count;
}

const struct dbr_closeup *dbr_closeups_at(const struct dbr_closeups *all, size_t index)
{
    return &all->items[index].seen;
}

void dbr_closeups_free(struct dbr_closeups *all)
{
    if (!all)
        return;
    for (size_t i = 0; i < all->count; i++)
        closeup_release(&all->items[i]);
    dbr_decoder_free(all->decoder);
    free(all->items);
    free(all);
}
