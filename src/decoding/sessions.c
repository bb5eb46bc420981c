/*
 * sessions.c - see transfers.h: the table of open transfers, their memory and their time.
 */
#include <stdlib.h>
#include <string.h>

#include "decoding/transfers.h"

/* SAE J1939-21 5.10.2.4, ISO 11783-3 5.11; the fast packet waits as long as T1 (from memory). */
#define T1_NS INT64_C(750000000)
#define T2_NS INT64_C(1250000000)
#define T3_NS INT64_C(1250000000)
#define T4_NS INT64_C(1050000000)

/*
 * Tr: the time within which a node answers. The one whose timer ran out may say so until
 * then; before, nobody can say that it did not. A broadcast has nobody who could.
 */
#define TR_NS INT64_C(200000000)

/* Contract: a bus that is silent for that long pauses; what happened meanwhile nobody knows. */
#define PAUSE_NS INT64_C(1000000000)

/* Of a message that grows while it comes: what is asked for first. */
#define FIRST_BYTES 4096u

_Static_assert(DBR_TRANSFERS_MAX < UINT16_MAX, "links hold index + 1");
_Static_assert((BUCKETS & (BUCKETS - 1)) == 0, "buckets are picked with a mask");

/* T2 and T3 are equally long, so that one list serves both. */
static const int64_t limits_ns[WAITS] = {T1_NS, T1_NS + TR_NS, T3_NS + TR_NS, T4_NS + TR_NS};

uint32_t little_endian(const uint8_t *bytes, unsigned count)
{
    uint32_t value = 0;

    for (unsigned i = 0; i < count; i++)
        value |= (uint32_t)bytes[i] << 8 * i;
    return value;
}

uint32_t control_group(const uint8_t *data)
{
    uint32_t pgn = dbr_pgn_read(data + 5) & DBR_PGN_MAX;
    return (pgn >> 8 & 0xFFu) < DBR_PDU2_FORMAT_MIN ? pgn & ~0xFFu : pgn;
}

/* Never 0, which marks a free session. */
uint64_t session_key(enum session_kind kind, uint8_t interface, uint8_t source,
                     uint8_t destination, uint32_t more)
{
    return (uint64_t)(kind + 1) << 56 | (uint64_t)more << 24 | (uint64_t)interface << 16 |
           (uint64_t)source << 8 | destination;
}

static uint16_t *bucket_of(struct dbr_transport *t, uint64_t key)
{
    uint64_t mixed = key * UINT64_C(0x9E3779B97F4A7C15);
    return &t->buckets[mixed >> 40 & (BUCKETS - 1)];
}

static struct session *at(struct dbr_transport *t, uint16_t link)
{
    return link ? &t->sessions[link - 1] : NULL;
}

static uint16_t link_of(const struct dbr_transport *t, const struct session *s)
{
    return (uint16_t)(s - t->sessions + 1);
}

struct session *session_find(struct dbr_transport *t, uint64_t key)
{
    struct session *s = at(t, *bucket_of(t, key));

    while (s && s->key != key)
        s = at(t, s->next);
    return s;
}

static struct session *unused_session(struct dbr_transport *t)
{
    struct session *s = at(t, t->free_first);

    if (s)
        t->free_first = s->next;
    else if (t->used < DBR_TRANSFERS_MAX)
        s = &t->sessions[t->used++];
    return s;
}

struct session *session_open(struct dbr_transport *t, uint64_t key,
                             const struct dbr_transfer *announced)
{
    struct session *s = unused_session(t);
    uint16_t *bucket = bucket_of(t, key);

    if (!s) {
        t->counts.refused++;
        return NULL;
    }
    *s = (struct session){.seen = *announced, .key = key, .next = *bucket};
    s->seen.announcements = 1;
    *bucket = link_of(t, s);
    return s;
}

static void leave_bucket(struct dbr_transport *t, struct session *s)
{
    uint16_t *link = bucket_of(t, s->key);

    while (*link != link_of(t, s))
        link = &at(t, *link)->next;
    *link = s->next;
}

static bool is_waiting(const struct session *s)
{
    return s->seen.timer != DBR_TIMER_NONE;
}

static void leave_waiting(struct dbr_transport *t, struct session *s)
{
    struct line *line = &t->lines[s->seen.interface];

    if (!is_waiting(s))
        return;
    *(s->earlier ? &at(t, s->earlier)->later : &line->waiting[s->wait].first) = s->later;
    *(s->later ? &at(t, s->later)->earlier : &line->waiting[s->wait].last) = s->earlier;
    s->earlier = s->later = 0;
    s->seen.timer = DBR_TIMER_NONE;
}

void session_wait(struct dbr_transport *t, struct session *s, enum wait wait,
                  enum dbr_transfer_timer timer, int64_t now)
{
    struct line *line = &t->lines[s->seen.interface];

    leave_waiting(t, s);
    s->wait = wait;
    s->seen.timer = timer;
    s->since_ns = now;
    s->earlier = line->waiting[wait].last;
    *(s->earlier ? &at(t, s->earlier)->later : &line->waiting[wait].first) = link_of(t, s);
    line->waiting[wait].last = link_of(t, s);
    if (now + limits_ns[wait] < line->deadline_ns)
        line->deadline_ns = now + limits_ns[wait];
}

static void give_up_data(struct dbr_transport *t, struct session *s)
{
    free(s->data);
    t->bytes -= s->capacity;
    s->data = NULL;
    s->capacity = 0;
}

/* Room for the first `needed` bytes; a message of ETP grows, others are small. */
static bool make_room(struct dbr_transport *t, struct session *s, uint32_t needed)
{
    uint32_t capacity = s->seen.size;

    if (s->too_large || needed <= s->capacity)
        return !s->too_large;
    if (capacity > FIRST_BYTES && s->capacity < capacity / 2)
        capacity = 2 * s->capacity > FIRST_BYTES ? 2 * s->capacity : FIRST_BYTES;
    if (capacity < needed)
        capacity = needed;
    bool within = t->bytes - s->capacity + capacity <= DBR_TRANSFER_BYTES_MAX;
    uint8_t *data = within ? realloc(s->data, capacity) : NULL;
    if (!data) {
        t->counts.out_of_memory = t->counts.out_of_memory || within;
        give_up_data(t, s);
        s->too_large = true;
        t->counts.without_data++;
        return false;
    }
    t->bytes += capacity - s->capacity;
    s->data = data;
    s->capacity = capacity;
    return true;
}

void session_take(struct dbr_transport *t, struct session *s, uint32_t packet, uint32_t offset,
                  const uint8_t *content, uint32_t count)
{
    bool room = count > 0 && s->seen.breach == DBR_BREACH_NONE && make_room(t, s, offset + count);

    if (packet_set_has(&s->packets, packet)) {
        s->seen.repeated++;
        if (room && memcmp(s->data + offset, content, count) != 0)
            session_breach(s, DBR_BREACH_DIFFERS, packet, 0);
        return;
    }
    packet_set_add(&s->packets, packet);
    s->seen.received++;
    if (room)
        memcpy(s->data + offset, content, count);
}

void session_breach(struct session *s, enum dbr_transfer_breach breach, uint32_t packet,
                    uint32_t count)
{
    if (s->seen.breach != DBR_BREACH_NONE)
        return;
    s->seen.breach = breach;
    s->seen.breach_packet = packet;
    s->seen.breach_count = count;
}

bool session_is_whole(const struct session *s)
{
    return packet_set_missing(&s->packets, s->seen.packets) == 0;
}

/* What is known better than an end that nobody spoke out. */
static enum dbr_transfer_end settled(const struct session *s, enum dbr_transfer_end end)
{
    bool is_connection = s->seen.carrier == DBR_CARRIER_CONNECTION ||
                         s->seen.carrier == DBR_CARRIER_EXTENDED;

    if (end == DBR_TRANSFER_ABORTED)
        return end;
    if (s->seen.breach != DBR_BREACH_NONE)
        return DBR_TRANSFER_BROKEN;
    /* The acknowledgement may be what the recording lacks: nobody objected, and all is there. */
    if (is_connection && session_is_whole(s))
        return DBR_TRANSFER_COMPLETE;
    return end;
}

/* What came of a message that is not whole, as far as it has no hole. */
static void tell_prefix(struct dbr_transfer *seen, const struct session *s)
{
    uint32_t solid = s->packets.solid;

    if (seen->end == DBR_TRANSFER_COMPLETE || seen->breach != DBR_BREACH_NONE || !s->data ||
        solid == 0 || seen->carrier == DBR_CARRIER_FAST)
        return;
    seen->prefix = s->data;
    seen->prefix_length = solid < seen->packets ? solid * PACKET_BYTES : seen->size;
}

void session_end(struct dbr_transport *t, struct session *s, enum dbr_transfer_end end,
                 int64_t now)
{
    struct dbr_transfer seen = s->seen;
    uint8_t *data = s->data;
    enum dbr_transfer_timer timer = seen.timer;

    seen.end = settled(s, end);
    seen.end_ns = now;
    seen.first_missing = packet_set_missing(&s->packets, seen.packets);
    tell_prefix(&seen, s);
    leave_waiting(t, s);
    leave_bucket(t, s);
    t->bytes -= s->capacity;
    *s = (struct session){.next = t->free_first};
    t->free_first = link_of(t, s);
    seen.timer = seen.end == DBR_TRANSFER_TIMED_OUT ? timer : DBR_TIMER_NONE;
    seen.data = seen.end == DBR_TRANSFER_COMPLETE ? data : NULL;
    t->ended(t->context, &seen);
    free(data);
}

/* A complete one is told now, whatever the time at which its acknowledgement was due. */
static void time_out(struct dbr_transport *t, struct session *s, const struct line *line,
                     int64_t now)
{
    int64_t grace = s->wait == WAIT_PACKET ? 0 : TR_NS;
    int64_t due = s->since_ns + limits_ns[s->wait] - grace;
    bool unseen = line->resumed_ns > s->since_ns;
    enum dbr_transfer_end end = unseen ? DBR_TRANSFER_UNFINISHED : DBR_TRANSFER_TIMED_OUT;

    session_end(t, s, end, settled(s, end) == DBR_TRANSFER_COMPLETE ? now : due);
}

static void expire(struct dbr_transport *t, struct line *line, int64_t now)
{
    struct session *s;

    line->deadline_ns = INT64_MAX;
    for (int w = 0; w < WAITS; w++) {
        while ((s = at(t, line->waiting[w].first)) != NULL && now > s->since_ns + limits_ns[w])
            time_out(t, s, line, now);
        if (s && s->since_ns + limits_ns[w] < line->deadline_ns)
            line->deadline_ns = s->since_ns + limits_ns[w];
    }
}

void line_frame(struct dbr_transport *t, struct line *line, int64_t now)
{
    if (now - line->last_ns >= PAUSE_NS)
        line->resumed_ns = now;
    line->last_ns = now;
    if (now > line->deadline_ns)
        expire(t, line, now);
}

void control_strayed(struct dbr_transport *t, const struct carried *c, uint32_t packets,
                     uint32_t next)
{
    const struct dbr_frame *f = c->frame;

    t->counts.stray_control++;
    if (!t->strayed)
        return;
    t->strayed(t->context, &(struct dbr_stray_control){
                               .interface = f->interface,
                               .source = c->id.source,
                               .destination = c->id.destination,
                               .control = f->data[0],
                               .extended = c->id.pgn == DBR_PGN_EXTENDED_CONTROL,
                               .pgn = control_group(f->data),
                               .packets = packets,
                               .next = next,
                               .at_ns = f->at_ns});
}
