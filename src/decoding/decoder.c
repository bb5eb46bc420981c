/* decoder.c - see drawbar/decoder.h. */
#include "drawbar/decoder.h"

#include <stdlib.h>

#include "drawbar/name.h"

#define SLOT_COUNT (4u * DBR_STREAMS_MAX)
_Static_assert((SLOT_COUNT & (SLOT_COUNT - 1)) == 0, "slots are picked with a mask");
_Static_assert(DBR_STREAMS_MAX < UINT16_MAX, "slots hold index + 1");

/* All of the identifier that tells senders, groups and destinations apart: not its priority. */
#define KEY_MASK 0x03FFFFFFu

#define ADDRESSES 256u

/* What the messages under one identifier mean, for as long as their sender bears one NAME. */
struct meaning {
    uint32_t key;
    uint32_t names; /* NAMEs that the sender had claimed when it was looked up */
    struct dbr_can_id id;
    uint8_t interface;
    const struct dbr_message *message;
    const struct dbr_message *waits; /* for the NAME */
};

/* The NAME that last claimed an address. */
struct holder {
    uint64_t name;
    uint32_t names; /* claims of another NAME than before; 0: no NAME is known */
};

struct dbr_decoder {
    const struct dbr_definitions *definitions;
    dbr_message_seen *seen;
    void *context;
    struct dbr_transport *transport;
    struct dbr_decoder_counts counts;
    struct holder holders[DBR_INTERFACES_MAX][ADDRESSES];
    size_t count;
    uint16_t slots[SLOT_COUNT]; /* hash table of index + 1 into meanings */
    struct meaning meanings[DBR_STREAMS_MAX];
    struct meaning spare; /* where there is no room: looked up each time */
};

static void look_up(struct dbr_decoder *d, struct meaning *m)
{
    const struct holder *holder = &d->holders[m->interface][m->id.source];

    m->names = holder->names;
    m->waits = NULL;
    m->message = dbr_definitions_find(d->definitions, m->id.pgn, m->id.source,
                                      holder->names ? &holder->name : NULL, &m->waits);
}

static uint32_t slot_of(uint32_t key, uint8_t interface)
{
    uint64_t mixed = ((uint64_t)interface << 32 | key) * UINT64_C(0x9E3779B97F4A7C15);
    return (uint32_t)(mixed >> 40) & (SLOT_COUNT - 1u);
}

static struct meaning *meaning_new(struct dbr_decoder *d, uint8_t interface, uint32_t key,
                                   uint32_t slot)
{
    bool room = d->count < DBR_STREAMS_MAX;
    struct meaning *m = room ? &d->meanings[d->count++] : &d->spare;

    *m = (struct meaning){.key = key, .interface = interface, .id = dbr_can_id_split(key)};
    if (room)
        d->slots[slot] = (uint16_t)d->count;
    look_up(d, m);
    return m;
}

/* What an identifier means at this moment. */
static const struct meaning *meaning_of(struct dbr_decoder *d, uint8_t interface, uint32_t id)
{
    uint32_t key = id & KEY_MASK;
    uint32_t slot = slot_of(key, interface);

    while (d->slots[slot] != 0) {
        struct meaning *m = &d->meanings[d->slots[slot] - 1];
        if (m->key == key && m->interface == interface) {
            if (m->names != d->holders[interface][m->id.source].names)
                look_up(d, m);
            return m;
        }
        slot = (slot + 1) & (SLOT_COUNT - 1u);
    }
    return meaning_new(d, interface, key, slot);
}

static void learn_name(struct dbr_decoder *d, const struct dbr_frame *frame, uint8_t source)
{
    struct holder *holder = &d->holders[frame->interface][source];

    if (frame->length < 8 || source >= DBR_ADDRESS_NULL)
        return;
    uint64_t name = dbr_name_from_bytes(frame->data);
    if (holder->names == 0 || holder->name != name) {
        holder->name = name;
        holder->names++;
    }
}

static bool is_fast(const struct meaning *m)
{
    return m->message && m->message->packing == DBR_PACKING_FAST;
}

static bool is_carrier(const struct meaning *m)
{
    switch (m->id.pgn) {
    case DBR_PGN_TRANSPORT_CONTROL:
    case DBR_PGN_TRANSPORT_DATA:
    case DBR_PGN_EXTENDED_CONTROL:
    case DBR_PGN_EXTENDED_DATA:
        return true;
    default:
        return is_fast(m);
    }
}

static void count_end(struct dbr_decoder *d, enum dbr_transfer_end end)
{
    switch (end) {
    case DBR_TRANSFER_COMPLETE:
        return;
    case DBR_TRANSFER_UNFINISHED:
    case DBR_TRANSFER_UNRECORDED:
        d->counts.unseen_transfers++;
        return;
    case DBR_TRANSFER_ABORTED:
    case DBR_TRANSFER_TIMED_OUT:
    case DBR_TRANSFER_REPLACED:
    case DBR_TRANSFER_BROKEN:
        break;
    }
    d->counts.failed_transfers++;
}

static void transfer_ended(void *context, const struct dbr_transfer *transfer)
{
    struct dbr_decoder *d = context;
    const struct dbr_can_id id = {.priority = transfer->priority,
                                  .pgn = transfer->pgn,
                                  .source = transfer->source,
                                  .destination = transfer->destination,
                                  .broadcast = dbr_pgn_is_broadcast(transfer->pgn)};
    bool complete = transfer->end == DBR_TRANSFER_COMPLETE;
    const struct meaning *m = meaning_of(d, transfer->interface, dbr_can_id_join(&id));
    const struct dbr_seen seen = {.kind = complete ? DBR_SEEN_MESSAGE : DBR_SEEN_FAILED,
                                  .interface = transfer->interface,
                                  .at_ns = transfer->end_ns,
                                  .id = id,
                                  .data = complete ? transfer->data : NULL,
                                  .length = transfer->size,
                                  .message = m->message,
                                  .transfer = transfer};

    count_end(d, transfer->end);
    d->seen(d->context, &seen);
}

static void decode_message(struct dbr_decoder *d, const struct dbr_frame *frame)
{
    const struct meaning *m = meaning_of(d, frame->interface, frame->id);
    bool carrier = is_carrier(m);
    struct dbr_seen seen = {.kind = carrier ? DBR_SEEN_FRAGMENT : DBR_SEEN_MESSAGE,
                            .interface = frame->interface,
                            .at_ns = frame->at_ns,
                            .id = m->id,
                            .data = frame->data,
                            .length = frame->length,
                            .message = m->message,
                            .frame = frame};

    seen.id.priority = (uint8_t)(frame->id >> 26 & 7u);
    if (m->id.pgn == DBR_PGN_ADDRESS_CLAIMED)
        learn_name(d, frame, m->id.source);
    bool fast = is_fast(m); /* `m` may change under the calls below */
    /* A transfer that ends with this frame is told after it. */
    if (carrier)
        d->seen(d->context, &seen);
    dbr_transport_frame(d->transport, frame, fast);
    if (!carrier)
        d->seen(d->context, &seen);
}

void dbr_decoder_frame(struct dbr_decoder *d, const struct dbr_frame *frame)
{
    const uint8_t no_message = DBR_FRAME_ERROR | DBR_FRAME_REMOTE | DBR_FRAME_FD;

    if (frame->flags & DBR_FRAME_COPY) {
        d->counts.copies++;
        return;
    }
    if ((frame->flags & DBR_FRAME_EXTENDED) && !(frame->flags & no_message)) {
        decode_message(d, frame);
        return;
    }
    const struct dbr_seen seen = {.kind = DBR_SEEN_FRAME,
                                  .interface = frame->interface,
                                  .at_ns = frame->at_ns,
                                  .data = frame->data,
                                  .length = frame->length,
                                  .frame = frame};
    d->seen(d->context, &seen);
}

void dbr_decoder_finish(struct dbr_decoder *d, int64_t end_ns)
{
    dbr_transport_finish(d->transport, end_ns);
}

struct dbr_decoder *dbr_decoder_new(const struct dbr_definitions *definitions,
                                    dbr_message_seen *seen, void *context,
                                    struct dbr_error *error)
{
    struct dbr_decoder *d = calloc(1, sizeof *d);

    if (!d) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    d->definitions = definitions;
    d->seen = seen;
    d->context = context;
    d->transport = dbr_transport_new(transfer_ended, d, error);
    if (!d->transport) {
        free(d);
        return NULL;
    }
    return d;
}

const struct dbr_decoder_counts *dbr_decoder_counts(const struct dbr_decoder *d)
{
    return &d->counts;
}

const struct dbr_transport_counts *dbr_decoder_transport(const struct dbr_decoder *d)
{
    return dbr_transport_counts(d->transport);
}

const struct dbr_message *dbr_decoder_waiting(const struct dbr_decoder *d, size_t index,
                                              uint8_t *interface, uint8_t *address)
{
    for (size_t i = 0; i < d->count; i++)
        if (d->meanings[i].waits && index-- == 0) {
            *interface = d->meanings[i].interface;
            *address = d->meanings[i].id.source;
            return d->meanings[i].waits;
        }
    return NULL;
}

void dbr_decoder_free(struct dbr_decoder *d)
{
    if (!d)
        return;
    dbr_transport_free(d->transport);
    free(d);
}
