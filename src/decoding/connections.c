/*
 * connections.c - what the connections of TP and ETP have in common.
 *
 * The originator asks, the receiver grants some packets, the originator sends them, and so
 * on until the receiver acknowledges (SAE J1939-21 5.10, ISO 11783-3 5.11 and 5.12). We see
 * both sides, and lack what the recorder lost. So data count only within a grant that was
 * seen, and silence is called so only after the one that waited could have said so.
 */
#include "decoding/transfers.h"


struct session *session_from(struct dbr_transport *t, const struct carried *c,
                             enum session_kind kind)
{
    return session_find(t, session_key(kind, c->frame->interface, c->id.source,
                                       c->id.destination, 0));
}

struct session *session_towards(struct dbr_transport *t, const struct carried *c,
                                enum session_kind kind)
{
    return session_find(t, session_key(kind, c->frame->interface, c->id.destination,
                                       c->id.source, 0));
}

/* The same announcement again before anything came of it: it was not heard, and is repeated. */
static bool is_repeated(const struct session *s, const struct dbr_transfer *announced)
{
    const struct dbr_transfer *seen = &s->seen;

    return seen->pgn == announced->pgn && seen->size == announced->size &&
           seen->packets == announced->packets && !seen->answered && seen->received == 0 &&
           seen->ungranted == 0;
}

static void await_first(struct dbr_transport *t, struct session *s, int64_t now)
{
    if (s->seen.carrier == DBR_CARRIER_BROADCAST)
        session_wait(t, s, WAIT_PACKET, DBR_TIMER_T1, now);
    else
        session_wait(t, s, WAIT_ANSWER, DBR_TIMER_T3, now);
}

void connection_announced(struct dbr_transport *t, const struct carried *c,
                          enum session_kind kind, const struct dbr_transfer *announced)
{
    int64_t now = c->frame->at_ns;
    struct session *s = session_from(t, c, kind);

    if (s && is_repeated(s, announced)) {
        s->seen.announcements++;
        await_first(t, s, now);
        return;
    }
    if (s)
        session_end(t, s, DBR_TRANSFER_REPLACED, now);
    s = session_open(t, session_key(kind, c->frame->interface, c->id.source, c->id.destination, 0),
                     announced);
    if (!s)
        return;
    if (announced->size == 0 ||
        announced->packets != (announced->size + PACKET_BYTES - 1) / PACKET_BYTES)
        session_breach(s, DBR_BREACH_SIZE, announced->packets, 0);
    if (announced->carrier == DBR_CARRIER_BROADCAST)
        connection_open_window(s, 1, announced->packets);
    await_first(t, s, now);
    /* Nobody can object to a broadcast. */
    if (announced->carrier == DBR_CARRIER_BROADCAST && s->seen.breach != DBR_BREACH_NONE)
        session_end(t, s, DBR_TRANSFER_BROKEN, now);
}

void connection_open_window(struct session *s, uint32_t first, uint32_t count)
{
    uint32_t left = s->seen.packets - first + 1;

    count = count < left ? count : left;
    s->window_first = first;
    s->window_end = first + count;
    s->seen.received -= packet_set_reopen(&s->packets, first, count);
}

/*
 * A hold keeps the connection open. A receiver may grant more than is left: some always
 * grant the same number. One that asks for a packet beyond the last speaks of another
 * message, or is another one: nothing is granted.
 */
void connection_granted(struct dbr_transport *t, const struct carried *c, struct session *s,
                        uint32_t first, uint32_t count)
{
    int64_t now = c->frame->at_ns;

    s->seen.answered = true;
    s->granted_count = 0;
    if (count == 0) {
        session_wait(t, s, WAIT_AFTER_HOLD, DBR_TIMER_T4, now);
        return;
    }
    s->window_end = s->window_first;
    if (first < 1 || first > s->seen.packets) {
        session_breach(s, DBR_BREACH_GRANT, first, count);
        session_wait(t, s, WAIT_ANSWER, DBR_TIMER_T3, now);
        return;
    }
    if (s->seen.carrier == DBR_CARRIER_EXTENDED) {
        s->granted_first = first;
        s->granted_count = count;
    } else {
        connection_open_window(s, first, count);
    }
    session_wait(t, s, WAIT_ANSWER, DBR_TIMER_T2, now);
}

/*
 * Not granted, as far as this recording tells: it does not count. But the originator is still
 * at it, so that its own timers have not run out.
 */
static void take_ungranted(struct dbr_transport *t, struct session *s, int64_t now)
{
    enum dbr_transfer_timer timer = s->seen.timer;

    s->seen.ungranted++;
    if (timer == DBR_TIMER_T3 || timer == DBR_TIMER_T4)
        session_wait(t, s, s->wait, timer, now);
}

static void await_more(struct dbr_transport *t, struct session *s, uint32_t packet, int64_t now)
{
    bool last = packet + 1 == s->window_end || s->packets.solid + 1 >= s->window_end;

    if (s->seen.carrier == DBR_CARRIER_BROADCAST)
        session_wait(t, s, WAIT_PACKET, DBR_TIMER_T1, now);
    else if (last)
        session_wait(t, s, WAIT_ANSWER, DBR_TIMER_T3, now);
    else
        session_wait(t, s, WAIT_NEXT, DBR_TIMER_T1, now);
}

void connection_data(struct dbr_transport *t, const struct carried *c, struct session *s,
                     uint32_t packet)
{
    int64_t now = c->frame->at_ns;

    if (packet < s->window_first || packet >= s->window_end) {
        take_ungranted(t, s, now);
        return;
    }
    uint32_t offset = (packet - 1) * PACKET_BYTES;
    uint32_t left = s->seen.size > offset ? s->seen.size - offset : 0;
    uint32_t count = left < PACKET_BYTES ? left : PACKET_BYTES;
    /* All packets have 8 bytes by the standards; a last one that is cut to its content will do. */
    if (c->frame->length < 1 + count) {
        t->counts.stray_data++;
        return;
    }
    session_take(t, s, packet, offset, c->frame->data + 1, count);
    await_more(t, s, packet, now);
    if (s->seen.carrier != DBR_CARRIER_BROADCAST)
        return;
    if (s->seen.breach != DBR_BREACH_NONE)
        session_end(t, s, DBR_TRANSFER_BROKEN, now);
    else if (session_is_whole(s))
        session_end(t, s, DBR_TRANSFER_COMPLETE, now);
}

/* Nothing came at all, seen by a recorder that saw the rest: acknowledged before it was sent. */
void connection_acknowledged(struct dbr_transport *t, const struct carried *c,
                             struct session *s, uint32_t size)
{
    bool nothing_came = s->seen.received == 0 && s->seen.ungranted == 0;
    enum dbr_transfer_end end = session_is_whole(s) ? DBR_TRANSFER_COMPLETE
                                                    : DBR_TRANSFER_UNRECORDED;

    s->seen.answered = s->seen.acknowledged = true;
    if (size != s->seen.size || nothing_came)
        session_breach(s, DBR_BREACH_ACKNOWLEDGED, 0, size);
    session_end(t, s, end, c->frame->at_ns);
}

static bool abort_one(struct dbr_transport *t, const struct carried *c, struct session *s,
                      bool by_receiver)
{
    if (!s || s->seen.pgn != control_group(c->frame->data))
        return false;
    s->seen.abort_reason = c->frame->data[1];
    s->seen.by_receiver = by_receiver;
    s->seen.answered |= by_receiver;
    session_end(t, s, DBR_TRANSFER_ABORTED, c->frame->at_ns);
    return true;
}

/* Where two send each other the same group, an abort does not say which it means: both end. */
void connection_aborted(struct dbr_transport *t, const struct carried *c,
                        enum session_kind kind)
{
    bool by_originator = abort_one(t, c, session_from(t, c, kind), false);
    bool by_receiver = abort_one(t, c, session_towards(t, c, kind), true);

    if (!by_originator && !by_receiver)
        control_strayed(t, c, 0, 0);
}
