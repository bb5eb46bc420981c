/*
 * tracking.c - drives the trackers: where a frame belongs, what its signals say.
 */
#include <stdlib.h>

#include "drawbar/name.h"
#include "drawbar/process_data.h"
#include "tracking/powerups.h"
#include "tracking/shutdown.h"
#include "tracking/trackers.h"

static void transfer_ended(void *context, const struct dbr_transfer *transfer);
static void control_strayed(void *context, const struct dbr_stray_control *control);

struct dbr_tracking *dbr_tracking_new(const struct dbr_definitions *definitions,
                                      const struct dbr_tracking_options *options,
                                      struct dbr_error *error)
{
    struct dbr_tracking *t = calloc(1, sizeof *t);

    if (t) {
        t->addresses = addresses_new();
        t->transport = dbr_transport_new(transfer_ended, t, error);
    }
    if (t)
        series_init(&t->series);
    if (!t || !t->addresses || !t->transport) {
        dbr_tracking_free(t);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    dbr_transport_on_stray(t->transport, control_strayed);
    t->definitions = definitions;
    t->bitrate = options->bitrate;
    t->speeds.work = &t->work;
    t->speeds.series = t->series.speeds;
    t->implements.series = &t->series;
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        bus_init(&t->buses[i], &t->series.loads[i], &t->series.errors[i]);
    return t;
}

/* A definition waits for a NAME: remembered once each. */
static void note_waiting(struct dbr_history *h, const struct dbr_message *message)
{
    const size_t room = sizeof h->waiting / sizeof h->waiting[0];

    for (size_t i = 0; i < h->waiting_count; i++)
        if (h->waiting[i] == message)
            return;
    if (h->waiting_count < room)
        h->waiting[h->waiting_count++] = message;
}

/* Finds what the messages of a stream mean; again when its sender's NAME becomes known. */
static void look_up(struct dbr_tracking *t, struct stream *st)
{
    const struct dbr_ecu *ecu = st->ecu ? &st->ecu->seen : NULL;
    const uint64_t *name = ecu && ecu->name_count ? &ecu->names[ecu->name_count - 1] : NULL;
    const struct dbr_message *waits = NULL;

    st->looked_up = true;
    st->names = ecu ? (uint32_t)ecu->claims : 0;
    st->seen.message =
        dbr_definitions_find(t->definitions, st->seen.pgn, st->seen.address, name, &waits);
    st->seen.waits_for_name = waits;
    st->role_count = 0;
    for (size_t i = 0; st->seen.message && i < st->seen.message->signal_count; i++) {
        const struct dbr_signal *signal = &st->seen.message->signals[i];
        if (signal->role != DBR_ROLE_NONE && st->role_count < STREAM_ROLES_MAX)
            st->roles[st->role_count++] = signal;
    }
}

static void look_up_where_new(struct dbr_tracking *t, struct stream *st)
{
    if (!st->looked_up || st->names != (uint32_t)st->ecu->seen.claims)
        look_up(t, st);
}

static void decode_roles(struct dbr_tracking *t, const struct sighting *s)
{
    for (size_t i = 0; i < s->stream->role_count; i++) {
        const struct dbr_signal *signal = s->stream->roles[i];
        struct dbr_value value = dbr_signal_decode(signal, s->data, s->length);
        struct role_value v = {.role = signal->role,
                               .status = value.status,
                               .si = value.number * signal->si_factor,
                               .raw = value.raw,
                               .subject = s->id.source};
        trackers_value(t, s, &v);
    }
}

/* Asked once for a stream; a frame beyond their ceiling is asked about by itself. */
static uint32_t listeners_of(const struct sighting *s)
{
    if (!s->stream)
        return trackers_concerned(s->id.pgn);
    if (s->stream->listeners == 0)
        s->stream->listeners = trackers_concerned(s->id.pgn);
    return s->stream->listeners;
}

/* A whole message, of one frame or several: what it says. */
static void track_message(struct dbr_tracking *t, const struct sighting *s)
{
    trackers_message(t, s, listeners_of(s));
    if (s->id.pgn == DBR_PGN_PROCESS_DATA)
        process_values_message(t, s);
    decode_roles(t, s);
}

/* Where a message of several frames belongs: its frames were of other groups, but for a fast packet. */
static void track_whole(struct dbr_tracking *t, const struct dbr_transfer *transfer)
{
    /* It may be whole only when the recording ends: then no frame is at hand any more. */
    const struct dbr_frame last = {.at_ns = transfer->end_ns,
                                   .flags = DBR_FRAME_EXTENDED,
                                   .interface = transfer->interface};
    struct sighting s = {
        .frame = &last,
        .now_ns = transfer->end_ns,
        .id = {.priority = transfer->priority,
               .pgn = transfer->pgn,
               .source = transfer->source,
               .destination = transfer->destination,
               .broadcast = dbr_pgn_is_broadcast(transfer->pgn)},
        .carrier = transfer->carrier,
        .data = transfer->data,
        .length = transfer->size,
        .bus = &t->buses[transfer->interface],
        .ecu = ecus_find(&t->ecus, transfer->interface, transfer->source),
    };

    s.stream = streams_find(&t->streams, transfer->interface, dbr_can_id_join(&s.id), s.now_ns);
    if (!s.stream || !s.ecu)
        return;
    s.stream->ecu = s.ecu;
    if (transfer->carrier != DBR_CARRIER_FAST)
        stream_frame(s.stream, s.now_ns, s.bus, s.ecu->silence_count);
    look_up_where_new(t, s.stream);
    track_message(t, &s);
}

static void transfer_ended(void *context, const struct dbr_transfer *transfer)
{
    struct dbr_tracking *t = context;

    for (size_t i = 0; i < tracker_count; i++)
        if (trackers[i].transfer)
            trackers[i].transfer(t, transfer);
    if (transfer->end == DBR_TRANSFER_COMPLETE && transfer->data)
        track_whole(t, transfer);
}

static void control_strayed(void *context, const struct dbr_stray_control *control)
{
    struct dbr_tracking *t = context;
    transfers_strayed(&t->transfers, control);
}

static bool is_fast(const struct stream *st)
{
    return st && st->seen.message && st->seen.message->packing == DBR_PACKING_FAST;
}

/* Addresses and groups exist in 29-bit data frames only. */
static void track_data(struct dbr_tracking *t, const struct dbr_frame *frame, struct bus *bus)
{
    struct sighting s = {.frame = frame,
                         .now_ns = frame->at_ns,
                         .data = frame->data,
                         .length = frame->length,
                         .bus = bus};

    s.stream = streams_find(&t->streams, frame->interface, frame->id, frame->at_ns);
    s.id = s.stream ? s.stream->id : dbr_can_id_split(frame->id);
    s.id.priority = (uint8_t)(frame->id >> 26 & 7u);
    s.ecu = s.stream && s.stream->ecu ? s.stream->ecu
                                      : ecus_find(&t->ecus, frame->interface, s.id.source);
    if (s.ecu)
        ecu_frame(s.ecu, frame->at_ns, bus, &t->streams);
    if (s.stream) {
        s.stream->ecu = s.ecu;
        stream_frame(s.stream, frame->at_ns, bus, s.ecu ? s.ecu->silence_count : 0);
    }
    if (!s.stream || (!s.ecu && s.id.source < DBR_ADDRESS_NULL))
        t->history.not_tracked++;
    trackers_frame(t, &s, listeners_of(&s));
    if (s.stream && s.ecu)
        look_up_where_new(t, s.stream);
    if (s.stream && s.ecu && !is_fast(s.stream))
        track_message(t, &s);
    dbr_transport_frame(t->transport, frame, is_fast(s.stream));
    process_values_wait(t, bus, frame->interface);
}

static void track_frame(struct dbr_tracking *t, const struct dbr_frame *frame, unsigned bits)
{
    const uint8_t no_message = DBR_FRAME_ERROR | DBR_FRAME_REMOTE | DBR_FRAME_FD;
    struct bus *bus = &t->buses[frame->interface];

    t->history.end_ns = frame->at_ns;
    if (frame->flags & DBR_FRAME_COPY)
        return;
    uint64_t gaps = bus->gaps;
    bus_frame(bus, frame, bits, t->bitrate);
    if (bus->gaps != gaps)
        trackers_resume(t, frame->interface);
    if (!(frame->flags & DBR_FRAME_ERROR))
        pauses_frame(&t->pauses, frame->at_ns);
    if ((frame->flags & DBR_FRAME_EXTENDED) && !(frame->flags & no_message))
        track_data(t, frame, bus);
}

/* Made when they are first wanted: frames that come measured want none. */
static struct bit_tables *bit_tables_of(struct dbr_tracking *t)
{
    if (!t->bit_tables_made)
        bit_tables_init(&t->bit_tables);
    t->bit_tables_made = true;
    return &t->bit_tables;
}

void dbr_tracking_frames(struct dbr_tracking *t, const struct dbr_frame *frames, size_t count)
{
    struct bit_tables *tables = bit_tables_of(t);

    lead_in_end(t);
    for (size_t i = 0; i < count; i++)
        track_frame(t, &frames[i], frame_bits(tables, &frames[i]));
}

/* Frames that another thread has read come from the cache of its processor: they are asked for
 * before they are wanted. Beyond the last one that does no harm. */
#define FETCH_AHEAD 12

void dbr_tracking_measured(struct dbr_tracking *t, const struct dbr_frame *frames,
                           const uint16_t *bits, size_t count)
{
    lead_in_end(t);
    for (size_t i = 0; i < count; i++) {
        __builtin_prefetch(&frames[i] + FETCH_AHEAD);
        track_frame(t, &frames[i], bits[i]);
    }
}

/*
 * Without time stamps all frames carry time 0: what was concluded from times
 * means nothing and is forgotten. Counts, NAMEs and values stay.
 */
static void forget_times(struct dbr_tracking *t)
{
    struct dbr_history *h = &t->history;

    h->conflict_count = h->restart_count = h->duplicate_count = 0;
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++) {
        struct dbr_bus *bus = &t->buses[i].seen;
        bus->busy.count = bus->very_busy.count = bus->bursts.count = bus->errors.count = 0;
        bus->key_off_ns = bus->switched_off_ns = -1;
    }
    for (size_t i = 0; i < t->ecus.count; i++) {
        t->ecus.items[i]->seen.restarts = 0;
        t->ecus.items[i]->seen.unclaimed_since_ns = -1;
    }
    for (size_t i = 0; i < t->speeds.count; i++) {
        struct dbr_speed_source *seen = &t->speeds.items[i].seen;
        seen->erratic.count = seen->distance.count = seen->change_count = 0;
        seen->state = seen->valid ? DBR_SPEED_STATE_VALID : DBR_SPEED_STATE_NOT_AVAILABLE;
    }
}

static void finish_parts(struct dbr_tracking *t)
{
    dbr_transport_finish(t->transport, t->history.end_ns);
    process_values_finish(t);
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        bus_finish(&t->buses[i], t->history.end_ns, t->bitrate, t->history.timed);
    for (size_t i = 0; i < t->ecus.count; i++) {
        struct ecu *ecu = t->ecus.items[i];
        ecu_finish(ecu, &t->buses[ecu->seen.interface], &t->streams, t->history.end_ns);
    }
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        t->buses[i].seen.switched_off_ns =
            shutdown_moment(&t->ecus, &t->buses[i], (uint8_t)i, speeds_stand(&t->speeds));
    powerups_find(&t->ecus, t->buses);
    for (size_t i = 0; i < t->streams.count; i++) {
        stream_finish(t->streams.items[i]);
        if (t->streams.items[i]->seen.waits_for_name)
            note_waiting(&t->history, t->streams.items[i]->seen.waits_for_name);
    }
    for (size_t i = 0; i < tracker_count; i++)
        if (trackers[i].finish)
            trackers[i].finish(t);
    if (!t->history.timed)
        forget_times(t);
}

const struct dbr_history *dbr_tracking_finish(struct dbr_tracking *t,
                                              const struct dbr_recording_info *info,
                                              struct dbr_error *error)
{
    struct dbr_history *h = &t->history;

    h->timed = info->time_base != DBR_TIME_NONE;
    finish_parts(t);
    h->bus_count = info->interface_count;
    h->ecu_count = t->ecus.count;
    h->stream_count = t->streams.count;
    h->source_count = t->speeds.count;
    h->supply_count = t->supplies.count;
    h->implement_count = h->timed ? t->implements.count : 0;
    if (trackers_out_of_memory(t) || !tracking_gather(t)) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    h->buses = t->seen_buses;
    h->ecus = t->seen_ecus;
    h->streams = t->seen_streams;
    h->sources = t->seen_sources;
    h->supplies = t->seen_supplies;
    h->implements = t->seen_implements;
    if (!series_finish(&t->series, h)) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    h->devices = t->seen_devices;
    transfers_finish(&t->transfers, dbr_transport_counts(t->transport), t->definitions, h);
    h->pauses = t->pauses.flaws;
    powerups_explain(t->buses, &h->pauses);
    h->pauses_are_flaws = pauses_are_flaws(&t->pauses);
    h->not_tracked += t->speeds.beyond + t->implements.beyond + t->devices.beyond +
                      t->implements.sets.beyond + t->identities.beyond;
    return h;
}

void dbr_tracking_free(struct dbr_tracking *t)
{
    if (!t)
        return;
    dbr_tracking_free(t->before);
    speeds_release(&t->speeds);
    series_release(&t->series);
    addresses_free(t->addresses);
    identities_release(&t->identities);
    dbr_transport_free(t->transport);
    devices_release(&t->devices);
    streams_release(&t->streams);
    ecus_release(&t->ecus);
    free(t->seen_buses);
    free(t->seen_ecus);
    free(t->seen_streams);
    free(t->seen_sources);
    free(t->seen_supplies);
    free(t->seen_implements);
    free(t->seen_devices);
    free(t);
}
