/* service_orders.c - see service_orders.h. */
#include "tracking/service_orders.h"

#include "drawbar/can_id.h"
#include "tracking/spells.h"

/* SAE J1939-73 5.7.13: without a reminder within 6 s broadcasts start again. */
#define REVERT_NS (6 * NS_PER_S)

/* SAE J1939-21 5.12.3: an answer comes within 1.25 s. */
#define ANSWER_NS (1250 * NS_PER_MS)

static struct dbr_trouble_clear *add_clear(struct service_orders *o, const struct sighting *s,
                                           enum dbr_clear_kind kind)
{
    if (o->clear_count == DBR_TROUBLE_CLEARS_MAX) {
        o->beyond++;
        return NULL;
    }
    struct dbr_trouble_clear *clear = &o->clears[o->clear_count++];
    *clear = (struct dbr_trouble_clear){.interface = s->frame->interface,
                                        .requester = s->id.source,
                                        .address = s->id.destination,
                                        .kind = kind,
                                        .at_ns = s->now_ns,
                                        .answer = DBR_CLEAR_UNANSWERED,
                                        .answered_ns = -1};
    return clear;
}

/* DM3 and DM11 are asked for like any other group (SAE J1939-21 5.4.2). */
static void take_request(struct service_orders *o, const struct sighting *s)
{
    uint32_t group = s->length < 3 ? 0 : dbr_pgn_read(s->data);

    if (group == DBR_PGN_DM3)
        add_clear(o, s, DBR_CLEAR_PREVIOUS);
    else if (group == DBR_PGN_DM11)
        add_clear(o, s, DBR_CLEAR_ACTIVE);
}

/* The request that this answers; NULL: none is open. */
static struct dbr_trouble_clear *open_clear(struct service_orders *o, const struct sighting *s,
                                            enum dbr_clear_kind kind)
{
    for (size_t i = o->clear_count; i-- > 0;) {
        struct dbr_trouble_clear *c = &o->clears[i];
        bool asked = c->address == s->id.source || c->address == DBR_ADDRESS_GLOBAL;
        if (c->interface == s->frame->interface && c->kind == kind && asked &&
            c->answer == DBR_CLEAR_UNANSWERED && s->now_ns - c->at_ns <= ANSWER_NS)
            return c;
    }
    return NULL;
}

static void answer(struct dbr_trouble_clear *clear, const struct sighting *s,
                   enum dbr_clear_answer with)
{
    if (!clear)
        return;
    clear->answer = with;
    clear->answered_by = s->id.source;
    clear->answered_ns = s->now_ns;
}

/* SAE J1939-21 5.4.4: byte 1 how, bytes 6-8 the group that it is about. */
static void take_acknowledge(struct service_orders *o, const struct sighting *s)
{
    uint32_t group = s->length < 8 ? 0 : dbr_pgn_read(s->data + 5);

    if ((group != DBR_PGN_DM3 && group != DBR_PGN_DM11) || s->data[0] > DBR_CLEAR_BUSY)
        return;
    answer(open_clear(o, s, group == DBR_PGN_DM3 ? DBR_CLEAR_PREVIOUS : DBR_CLEAR_ACTIVE), s,
           (enum dbr_clear_answer)s->data[0]);
}

static void take_one(struct service_orders *o, const struct sighting *s)
{
    struct dbr_code_clear message;

    if (!dbr_code_clear_read(&message, s->data, s->length))
        return;
    if (!message.request) {
        bool denied = !message.done && message.reason == 1;
        answer(open_clear(o, s, DBR_CLEAR_ONE), s,
               message.done ? DBR_CLEAR_DONE : denied ? DBR_CLEAR_DENIED : DBR_CLEAR_REFUSED);
        return;
    }
    struct dbr_trouble_clear *clear = add_clear(o, s, DBR_CLEAR_ONE);
    if (!clear)
        return;
    clear->active = message.active;
    clear->code = message.code;
}

static void end_stop(struct broadcast_stop *stop, int64_t at_ns)
{
    int64_t reverts_ns = stop->last_ns + REVERT_NS;

    stop->seen.end_ns = at_ns < reverts_ns ? at_ns : reverts_ns;
    stop->ended = true;
}

/* The order of this requester to this destination that is still in force. */
static struct broadcast_stop *stop_in_force(struct service_orders *o, const struct sighting *s)
{
    for (size_t i = o->stop_count; i-- > 0;) {
        struct broadcast_stop *stop = &o->stops[i];
        if (stop->ended || stop->seen.interface != s->frame->interface ||
            stop->seen.requester != s->id.source || stop->seen.address != s->id.destination)
            continue;
        if (s->now_ns - stop->last_ns <= REVERT_NS)
            return stop;
        end_stop(stop, s->now_ns);
    }
    return NULL;
}

static void begin_stop(struct service_orders *o, const struct sighting *s)
{
    if (o->stop_count == DBR_BROADCAST_STOPS_MAX) {
        o->beyond++;
        return;
    }
    o->stops[o->stop_count++] =
        (struct broadcast_stop){.seen = {.interface = s->frame->interface,
                                         .requester = s->id.source,
                                         .address = s->id.destination,
                                         .start_ns = s->now_ns},
                                .last_ns = s->now_ns};
}

static void take_broadcast_order(struct service_orders *o, const struct sighting *s)
{
    enum dbr_broadcast_order order = dbr_broadcast_order_read(s->data, s->length);
    struct broadcast_stop *stop = stop_in_force(o, s);

    switch (order) {
    case DBR_BROADCAST_NOTHING:
        return;
    case DBR_BROADCAST_STOP:
    case DBR_BROADCAST_HOLD:
        if (stop) {
            stop->last_ns = s->now_ns;
            stop->seen.reminders++;
        } else if (order == DBR_BROADCAST_STOP) {
            begin_stop(o, s);
        }
        return;
    case DBR_BROADCAST_START:
        if (stop)
            end_stop(stop, s->now_ns);
        return;
    }
}

bool service_orders_concern(uint32_t pgn)
{
    return pgn == DBR_PGN_REQUEST || pgn == DBR_PGN_ACKNOWLEDGE || pgn == DBR_PGN_DM13 ||
           pgn == DBR_PGN_DM22;
}

void service_orders_message(struct service_orders *o, const struct sighting *s)
{
    switch (s->id.pgn) {
    case DBR_PGN_REQUEST:
        take_request(o, s);
        break;
    case DBR_PGN_ACKNOWLEDGE:
        take_acknowledge(o, s);
        break;
    case DBR_PGN_DM13:
        take_broadcast_order(o, s);
        break;
    case DBR_PGN_DM22:
        take_one(o, s);
        break;
    default:
        break;
    }
}

void service_orders_finish(struct service_orders *o, int64_t end_ns, bool timed)
{
    /* without stamps nothing is known of how long an order held */
    if (!timed)
        o->stop_count = 0;
    for (size_t i = 0; i < o->stop_count; i++) {
        struct broadcast_stop *stop = &o->stops[i];
        if (stop->ended)
            continue;
        stop->seen.open = end_ns <= stop->last_ns + REVERT_NS;
        end_stop(stop, end_ns);
    }
}
