/* closeup_runs.c - the messages of a window, folded into runs, see closeup.h. */
#include <stdlib.h>
#include <string.h>

#include "drawbar/ddi.h"
#include "tracking/closeup.h"

/* Streams that have nothing to do with the finding leave this much room for those that do. */
#define FAR_STREAMS_MAX (DBR_CLOSEUP_STREAMS_MAX * 3 / 4)

static uint64_t mix(uint64_t hash, uint64_t value)
{
    return (hash ^ value) * UINT64_C(0x100000001B3);
}

/* Groups of network management: what differs in their data is what they are about. */
static bool is_management(uint32_t pgn)
{
    return pgn == DBR_PGN_ADDRESS_CLAIMED || pgn == DBR_PGN_REQUEST || pgn == DBR_PGN_ACKNOWLEDGE;
}

static uint64_t process_appearance(const struct dbr_process_data *data)
{
    const struct dbr_ddi *ddi = dbr_ddi_find(data->ddi);

    return ddi && !ddi->unit[0] ? (uint32_t)data->value : data->value != 0;
}

/* States, statuses, and whether a quantity with a role is zero. */
static uint64_t signal_appearance(const struct dbr_signal *signal, const struct dbr_seen *seen)
{
    struct dbr_value v = dbr_signal_decode(signal, seen->data, seen->length);
    uint64_t hash = mix(0, v.status);

    if (signal->state_count > 0)
        return mix(hash, v.raw);
    return mix(hash, signal->role != DBR_ROLE_NONE && v.number == 0);
}

static uint64_t appearance_of(const struct dbr_seen *seen)
{
    struct dbr_process_data data;
    uint64_t hash = UINT64_C(0xCBF29CE484222325);

    if (!seen->data)
        return hash;
    if (seen->id.pgn == DBR_PGN_PROCESS_DATA &&
        dbr_process_data_read(&data, seen->data, seen->length))
        return process_appearance(&data);
    for (size_t i = 0; is_management(seen->id.pgn) && i < seen->length; i++)
        hash = mix(hash, seen->data[i]);
    for (size_t i = 0; seen->message && i < seen->message->signal_count; i++)
        hash = mix(hash, signal_appearance(&seen->message->signals[i], seen));
    return hash;
}

static struct stream_key key_of(const struct dbr_seen *seen)
{
    struct stream_key key = {.kind = seen->kind, .interface = seen->interface};
    struct dbr_process_data data;

    if (seen->kind == DBR_SEEN_FRAME) {
        key.pgn = seen->frame->id;
        key.part = seen->frame->flags;
        return key;
    }
    key.source = seen->id.source;
    key.destination = seen->id.destination;
    key.pgn = seen->id.pgn;
    if (seen->kind == DBR_SEEN_FAILED)
        key.part = seen->transfer->end;
    else if (seen->id.pgn == DBR_PGN_PROCESS_DATA && seen->data &&
             dbr_process_data_read(&data, seen->data, seen->length))
        key.part = (uint32_t)data.command << 28 | (uint32_t)data.element << 16 | data.ddi;
    return key;
}

static bool same_key(const struct stream_key *a, const struct stream_key *b)
{
    return a->kind == b->kind && a->interface == b->interface && a->source == b->source &&
           a->destination == b->destination && a->pgn == b->pgn && a->part == b->part;
}

/* A finding without address and group is about the bus: error frames tell of that. */
static enum closeness closeness_of(const struct dbr_closeup_window *w, const struct dbr_seen *seen)
{
    bool no_message = seen->kind == DBR_SEEN_FRAME;

    if (w->interface >= 0 && w->interface != seen->interface)
        return CLOSE_NOT;
    if (no_message)
        return !(seen->frame->flags & DBR_FRAME_ERROR) ? CLOSE_NOT
               : w->address < 0 && w->pgn < 0          ? CLOSE_BOTH
                                                       : CLOSE_ONE;
    bool from_it = w->address == seen->id.source;
    bool to_it = w->address == seen->id.destination && w->address < (int)DBR_ADDRESS_NULL;
    bool group = w->pgn == (int32_t)seen->id.pgn;
    if (w->pgn < 0 || w->address < 0)
        return from_it || to_it || group ? CLOSE_BOTH : CLOSE_NOT;
    return from_it && group ? CLOSE_BOTH : from_it || to_it || group ? CLOSE_ONE : CLOSE_NOT;
}

static struct stream_runs *get_stream(struct closeup *c, const struct dbr_seen *seen)
{
    struct stream_key key = key_of(seen);

    if (!c->streams)
        c->streams = calloc(DBR_CLOSEUP_STREAMS_MAX, sizeof(struct stream_runs *));
    c->out_of_memory = c->out_of_memory || !c->streams;
    if (!c->streams)
        return NULL;
    for (size_t i = 0; i < c->stream_count; i++)
        if (same_key(&c->streams[i]->key, &key))
            return c->streams[i];
    enum closeness closeness = closeness_of(&c->seen.window, seen);
    bool is_far = closeness == CLOSE_NOT;
    if (c->stream_count == DBR_CLOSEUP_STREAMS_MAX || (is_far && c->far_count == FAR_STREAMS_MAX))
        return NULL;
    struct stream_runs *stream = calloc(1, sizeof *stream);
    c->out_of_memory = c->out_of_memory || !stream;
    if (!stream)
        return NULL;
    c->streams[c->stream_count++] = stream;
    c->far_count += is_far;
    stream->key = key;
    stream->id = seen->id;
    stream->closeness = closeness;
    return stream;
}

static void show(struct run *run, const struct dbr_seen *seen)
{
    size_t kept = seen->length < DBR_CLOSEUP_DATA_MAX ? seen->length : DBR_CLOSEUP_DATA_MAX;

    run->at_ns = seen->at_ns;
    run->message = seen->message;
    run->length = seen->length;
    run->priority = seen->id.priority;
    if (seen->data)
        memcpy(run->data, seen->data, kept);
}

static void begin_run(struct run *run, const struct dbr_seen *seen, uint64_t appearance)
{
    *run = (struct run){.appearance = appearance,
                        .count = 1,
                        .first_ns = seen->at_ns,
                        .last_ns = seen->at_ns};
    show(run, seen);
}

static bool go_on(struct run *run, const struct dbr_seen *seen, uint64_t appearance)
{
    if (run->appearance != appearance)
        return false;
    run->count++;
    run->last_ns = seen->at_ns;
    return true;
}

static void take_before(struct stream_runs *s, const struct dbr_seen *seen, uint64_t appearance)
{
    struct run *last = s->before_count > 0 ? &s->before[s->before_count - 1] : NULL;

    if (last && go_on(last, seen, appearance)) {
        show(last, seen);
        return;
    }
    if (s->before_count == RUNS_BEFORE) {
        memmove(s->before, s->before + 1, (RUNS_BEFORE - 1) * sizeof s->before[0]);
        s->before_count--;
    }
    begin_run(&s->before[s->before_count++], seen, appearance);
}

static void take_after(struct stream_runs *s, const struct dbr_seen *seen, uint64_t appearance)
{
    struct run *last = s->after_count > 0 ? &s->after[s->after_count - 1] : NULL;

    if (s->after_full || (last && go_on(last, seen, appearance)))
        return;
    s->after_full = s->after_count == RUNS_AFTER;
    if (!s->after_full)
        begin_run(&s->after[s->after_count++], seen, appearance);
}

void closeup_take_message(struct closeup *c, const struct dbr_seen *seen)
{
    struct stream_runs *s = get_stream(c, seen);

    c->seen.seen++;
    if (s && seen->at_ns < c->seen.window.moment_ns)
        take_before(s, seen, appearance_of(seen));
    else if (s)
        take_after(s, seen, appearance_of(seen));
}

/* A run that may be shown. */
struct candidate {
    const struct stream_runs *stream;
    const struct run *run;
    int64_t distance_ns;
};

static int by_weight(const void *x, const void *y)
{
    const struct candidate *a = x, *b = y;

    if (a->stream->closeness != b->stream->closeness)
        return (int)a->stream->closeness - (int)b->stream->closeness;
    if (a->distance_ns != b->distance_ns)
        return a->distance_ns < b->distance_ns ? -1 : 1;
    return a->run->at_ns < b->run->at_ns ? -1 : a->run->at_ns > b->run->at_ns;
}

static int by_time(const void *x, const void *y)
{
    const struct dbr_closeup_message *a = x, *b = y;

    return a->at_ns < b->at_ns ? -1 : a->at_ns > b->at_ns;
}

static void add_candidates(struct candidate *list, size_t *count, const struct closeup *c,
                           const struct stream_runs *s, const struct run *runs, size_t run_count)
{
    for (size_t i = 0; i < run_count; i++) {
        int64_t distance = runs[i].at_ns - c->seen.window.moment_ns;
        list[(*count)++] =
            (struct candidate){s, &runs[i], distance < 0 ? -distance : distance};
    }
}

/* First those that play a role, then those that say anything. */
static void choose_signals(struct dbr_closeup_message *m)
{
    size_t kept = m->length < DBR_CLOSEUP_DATA_MAX ? m->length : DBR_CLOSEUP_DATA_MAX;

    for (int round = 0; round < 2; round++) {
        for (size_t i = 0; m->message && i < m->message->signal_count; i++) {
            const struct dbr_signal *signal = &m->message->signals[i];
            bool whole = signal->first_bit + signal->bits <= 8u * kept || m->length == kept;
            struct dbr_value value = dbr_signal_decode(signal, m->data, kept);
            bool has_role = signal->role != DBR_ROLE_NONE;
            bool says = value.status == DBR_VALUE_VALID || value.status == DBR_VALUE_ERROR;
            if (!whole || has_role != (round == 0) || (!has_role && !says) ||
                m->signal_count == DBR_CLOSEUP_SIGNALS_MAX)
                continue;
            m->signals[m->signal_count++] = (struct dbr_closeup_signal){signal, value};
        }
    }
}

static void write_message(struct dbr_closeup_message *m, const struct candidate *from)
{
    const struct stream_runs *s = from->stream;
    const struct run *run = from->run;

    *m = (struct dbr_closeup_message){.kind = s->key.kind,
                                      .about = s->closeness != CLOSE_NOT,
                                      .count = run->count,
                                      .first_ns = run->first_ns,
                                      .last_ns = run->last_ns,
                                      .at_ns = run->at_ns,
                                      .interface = s->key.interface,
                                      .id = s->id,
                                      .length = run->length,
                                      .message = run->message};
    memcpy(m->data, run->data, sizeof m->data);
    m->id.priority = run->priority;
    if (s->key.kind == DBR_SEEN_FRAME) {
        m->frame_id = s->key.pgn;
        m->frame_flags = (uint8_t)s->key.part;
    } else if (s->key.kind == DBR_SEEN_FAILED) {
        m->failed = (enum dbr_transfer_end)s->key.part;
    } else {
        m->is_process = s->key.pgn == DBR_PGN_PROCESS_DATA &&
                        dbr_process_data_read(&m->process, m->data, m->length);
        choose_signals(m);
    }
}

static void write_messages(struct closeup *c, struct candidate *list, size_t count)
{
    struct dbr_closeup *seen = &c->seen;

    qsort(list, count, sizeof *list, by_weight);
    seen->message_count = count < DBR_CLOSEUP_MESSAGES_MAX ? count : DBR_CLOSEUP_MESSAGES_MAX;
    c->messages = calloc(seen->message_count, sizeof *c->messages);
    c->out_of_memory = c->out_of_memory || (!c->messages && seen->message_count > 0);
    if (!c->messages)
        seen->message_count = 0;
    seen->left_out = seen->seen;
    for (size_t i = 0; i < seen->message_count; i++) {
        write_message(&c->messages[i], &list[i]);
        seen->left_out -= c->messages[i].count;
    }
    if (seen->message_count > 0)
        qsort(c->messages, seen->message_count, sizeof *c->messages, by_time);
    seen->messages = c->messages;
}

static void release_streams(struct closeup *c)
{
    for (size_t i = 0; i < c->stream_count; i++)
        free(c->streams[i]);
    free(c->streams);
    c->streams = NULL;
    c->stream_count = 0;
}

void closeup_close_messages(struct closeup *c)
{
    size_t most = c->stream_count * (RUNS_BEFORE + RUNS_AFTER), count = 0;
    struct candidate *list = most > 0 ? calloc(most, sizeof *list) : NULL;

    if (list) {
        for (size_t i = 0; i < c->stream_count; i++) {
            const struct stream_runs *s = c->streams[i];
            add_candidates(list, &count, c, s, s->before, s->before_count);
            add_candidates(list, &count, c, s, s->after, s->after_count);
        }
        write_messages(c, list, count);
    } else {
        c->out_of_memory = c->out_of_memory || most > 0;
        c->seen.left_out = c->seen.seen;
    }
    free(list);
    release_streams(c);
}

void closeup_release(struct closeup *c)
{
    release_streams(c);
    for (size_t i = 0; c->curves && i < DBR_CLOSEUP_CURVES_MAX; i++)
        free(c->curves[i].points);
    free(c->curves);
    free(c->seen_curves);
    free(c->messages);
}
