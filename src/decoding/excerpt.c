/* excerpt.c - see drawbar/excerpt.h. */
#include "drawbar/excerpt.h"

#include <stdlib.h>

#include "drawbar/can_id.h"
#include "drawbar/decoder.h"
#include "drawbar/limits.h"
#include "decoding/excerpt_values.h"
#include "decoding/transfers.h"

/* A wanted transfer: whose frames, from when to when. */
struct kept {
    uint8_t interface, source, destination;
    enum dbr_carrier carrier;
    uint32_t pgn;
    int64_t start_ns, end_ns;
};

struct dbr_excerpt {
    struct dbr_excerpt_wish wish;
    struct dbr_decoder *decoder;
    size_t count, capacity;
    struct kept *kept;
    uint64_t beyond;
    bool out_of_memory;
    size_t next;        /* the first of `kept` that has not begun yet */
    size_t going_count; /* those that have begun and not ended */
    size_t *going;      /* their indices */
    struct told_values values;
    uint64_t learned, asked; /* frames */
    bool in_window;          /* the frame learned last */
};

static bool in_window(const struct dbr_excerpt_wish *wish, int64_t from_ns, int64_t to_ns)
{
    for (size_t i = 0; i < wish->window_count; i++)
        if (from_ns <= wish->windows[i].to_ns && to_ns >= wish->windows[i].from_ns)
            return true;
    return wish->window_count == 0;
}

static bool in_ranges(const struct dbr_number_range *ranges, size_t count, uint32_t number)
{
    for (size_t i = 0; i < count; i++)
        if (number >= ranges[i].low && number <= ranges[i].high)
            return true;
    return count == 0;
}

static bool between(const struct dbr_excerpt_wish *wish, uint8_t source, uint8_t destination)
{
    return in_ranges(wish->addresses, wish->address_count, source) ||
           (destination != DBR_ADDRESS_GLOBAL &&
            in_ranges(wish->addresses, wish->address_count, destination));
}

/* The groups of the frames that carry a transfer; 0: those of the message itself. */
static uint32_t steering_group(enum dbr_carrier carrier)
{
    return carrier == DBR_CARRIER_FAST       ? 0
           : carrier == DBR_CARRIER_EXTENDED ? DBR_PGN_EXTENDED_CONTROL
                                             : DBR_PGN_TRANSPORT_CONTROL;
}

static uint32_t data_group(enum dbr_carrier carrier)
{
    return carrier == DBR_CARRIER_FAST       ? 0
           : carrier == DBR_CARRIER_EXTENDED ? DBR_PGN_EXTENDED_DATA
                                             : DBR_PGN_TRANSPORT_DATA;
}

static bool wanted_group(const struct dbr_excerpt_wish *wish, const struct dbr_transfer *t)
{
    return in_ranges(wish->pgns, wish->pgn_count, t->pgn) ||
           in_ranges(wish->pgns, wish->pgn_count, steering_group(t->carrier)) ||
           in_ranges(wish->pgns, wish->pgn_count, data_group(t->carrier));
}

static void keep(struct dbr_excerpt *e, const struct dbr_transfer *t)
{
    if (e->count == DBR_EXCERPT_TRANSFERS_MAX) {
        e->beyond++;
        return;
    }
    if (e->count == e->capacity) {
        size_t capacity = e->capacity ? 2 * e->capacity : 64;
        struct kept *grown = realloc(e->kept, capacity * sizeof *grown);
        e->out_of_memory = e->out_of_memory || !grown;
        if (!grown)
            return;
        e->kept = grown;
        e->capacity = capacity;
    }
    e->kept[e->count++] = (struct kept){t->interface, t->source,   t->destination, t->carrier,
                                        t->pgn,       t->start_ns, t->end_ns};
}

static void seen(void *context, const struct dbr_seen *s)
{
    struct dbr_excerpt *e = context;
    const struct dbr_transfer *t = s->transfer;

    if (e->wish.values)
        told_values_seen(&e->values, s, e->learned);
    if (t && in_window(&e->wish, t->start_ns, t->end_ns) &&
        between(&e->wish, t->source, t->destination) && wanted_group(&e->wish, t))
        keep(e, t);
}

struct dbr_excerpt *dbr_excerpt_new(const struct dbr_definitions *definitions,
                                    const struct dbr_excerpt_wish *wish, struct dbr_error *error)
{
    struct dbr_excerpt *e = calloc(1, sizeof *e);

    if (e) {
        e->wish = *wish;
        e->decoder = dbr_decoder_new(definitions, seen, e, error);
    }
    if (e && e->decoder)
        return e;
    dbr_excerpt_free(e);
    dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return NULL;
}

void dbr_excerpt_learn(struct dbr_excerpt *e, const struct dbr_frame *frame)
{
    bool now = in_window(&e->wish, frame->at_ns, frame->at_ns);

    if (e->wish.values && now && !e->in_window)
        told_values_keep(&e->values);
    e->in_window = now;
    dbr_decoder_frame(e->decoder, frame);
    e->learned++;
}

static int by_kind(const struct kept *a, const struct kept *b)
{
    const int64_t differences[] = {a->interface - b->interface, a->source - b->source,
                                   a->destination - b->destination,
                                   (int64_t)a->carrier - (int64_t)b->carrier,
                                   (int64_t)a->pgn - (int64_t)b->pgn};

    for (size_t i = 0; i < sizeof differences / sizeof differences[0]; i++)
        if (differences[i] != 0)
            return differences[i] < 0 ? -1 : 1;
    return 0;
}

static int by_start(const void *a, const void *b)
{
    const struct kept *x = a, *y = b;
    return (x->start_ns > y->start_ns) - (x->start_ns < y->start_ns);
}

static int by_kind_and_start(const void *a, const void *b)
{
    int kind = by_kind(a, b);
    return kind ? kind : by_start(a, b);
}

/* Those of a kind that touch are one: without time stamps there may be thousands at one moment. */
static void join_those_that_touch(struct dbr_excerpt *e)
{
    size_t count = 0;

    qsort(e->kept, e->count, sizeof *e->kept, by_kind_and_start);
    for (size_t i = 0; i < e->count; i++) {
        struct kept *last = count ? &e->kept[count - 1] : NULL;
        const struct kept *k = &e->kept[i];
        if (!last || by_kind(last, k) != 0 || k->start_ns > last->end_ns)
            e->kept[count++] = *k;
        else if (k->end_ns > last->end_ns)
            last->end_ns = k->end_ns;
    }
    e->count = count;
}

int dbr_excerpt_learned(struct dbr_excerpt *e, int64_t end_ns, struct dbr_error *error)
{
    dbr_decoder_finish(e->decoder, end_ns);
    e->out_of_memory = e->out_of_memory || e->values.out_of_memory ||
                       dbr_decoder_transport(e->decoder)->out_of_memory;
    told_values_sort(&e->values);
    dbr_decoder_free(e->decoder);
    e->decoder = NULL;
    if (!e->out_of_memory && e->count > 0) {
        join_those_that_touch(e);
        qsort(e->kept, e->count, sizeof *e->kept, by_start);
        e->going = calloc(e->count, sizeof *e->going);
    }
    if (e->out_of_memory || (e->count > 0 && !e->going))
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return 0;
}

/* Which transfers are under way at this moment. */
static void move_on(struct dbr_excerpt *e, int64_t now_ns)
{
    size_t count = 0;

    for (size_t i = 0; i < e->going_count; i++)
        if (e->kept[e->going[i]].end_ns >= now_ns)
            e->going[count++] = e->going[i];
    for (; e->next < e->count && e->kept[e->next].start_ns <= now_ns; e->next++)
        if (e->kept[e->next].end_ns >= now_ns)
            e->going[count++] = e->next;
    e->going_count = count;
}

static bool is_part(const struct kept *k, const struct dbr_frame *frame,
                    const struct dbr_can_id *id)
{
    bool onward = id->source == k->source && id->destination == k->destination;
    bool back = id->source == k->destination && id->destination == k->source;

    if (frame->interface != k->interface || (!onward && !back))
        return false;
    if (k->carrier == DBR_CARRIER_FAST)
        return onward && id->pgn == k->pgn;
    if (id->pgn == steering_group(k->carrier))
        return control_group(frame->data) == k->pgn;
    return onward && id->pgn == data_group(k->carrier);
}

static bool is_part_of_any(const struct dbr_excerpt *e, const struct dbr_frame *frame,
                           const struct dbr_can_id *id)
{
    for (size_t i = 0; i < e->going_count; i++)
        if (is_part(&e->kept[e->going[i]], frame, id))
            return true;
    return false;
}

/* An address claim, or a request for it: who claims unasked has restarted. */
static bool is_about_claims(const struct dbr_frame *frame, const struct dbr_can_id *id)
{
    return id->pgn == DBR_PGN_ADDRESS_CLAIMED ||
           (id->pgn == DBR_PGN_REQUEST && frame->length >= 3 &&
            dbr_pgn_read(frame->data) == DBR_PGN_ADDRESS_CLAIMED);
}

bool dbr_excerpt_wants(struct dbr_excerpt *e, const struct dbr_frame *frame)
{
    const uint8_t no_message = DBR_FRAME_ERROR | DBR_FRAME_REMOTE | DBR_FRAME_FD;
    const struct dbr_excerpt_wish *wish = &e->wish;
    bool now = in_window(wish, frame->at_ns, frame->at_ns);
    bool holds_later = told_values_want(&e->values, e->asked++);

    if (frame->flags & DBR_FRAME_ERROR)
        return now;
    if (!(frame->flags & DBR_FRAME_EXTENDED) || (frame->flags & no_message))
        return now && wish->address_count == 0 && wish->pgn_count == 0;
    struct dbr_can_id id = dbr_can_id_split(frame->id);
    move_on(e, frame->at_ns);
    if (wish->claims && is_about_claims(frame, &id))
        return true;
    return ((now || holds_later) && between(wish, id.source, id.destination) &&
            in_ranges(wish->pgns, wish->pgn_count, id.pgn)) ||
           is_part_of_any(e, frame, &id);
}

uint64_t dbr_excerpt_beyond(const struct dbr_excerpt *e)
{
    return e->beyond + e->values.beyond;
}

void dbr_excerpt_free(struct dbr_excerpt *e)
{
    if (!e)
        return;
    dbr_decoder_free(e->decoder);
    free(e->kept);
    free(e->going);
    free(e->values.frames);
    free(e);
}
