/* plain_transport.c - see plain_transport.h. */
#include "support/plain_transport.h"

#include <stdlib.h>
#include <string.h>

#define MS INT64_C(1000000)
#define PACKETS_MAX 700

enum plain_kind { TP, ETP, FAST };

/* What one sends to another, by one kind of session. */
struct pair {
    enum plain_kind kind;
    uint8_t interface, from, to;
    unsigned sequence; /* of fast packets */

    bool open;
    struct plain_transfer t;
    bool have[PACKETS_MAX];
    unsigned window_first, window_count; /* packets that may come */
    unsigned grant_first, grant_count;   /* ETP: granted, no offset yet */
    int64_t since, limit, due;           /* waits: since, is given up after, was due after */
    enum dbr_transfer_timer timer;
    bool paused;                         /* the interface paused while it waited */
};

struct run {
    const struct dbr_frame *frames;
    size_t count;
    bool *handled;
    struct plain_result result;
};

static unsigned number(const uint8_t *bytes, unsigned count)
{
    return count == 0 ? 0 : bytes[0] + 256u * number(bytes + 1, count - 1);
}

static unsigned lacking(const struct pair *p)
{
    for (unsigned i = 1; i <= p->t.seen.packets; i++)
        if (!p->have[i])
            return i;
    return 0;
}

static bool is_connection(const struct pair *p)
{
    return p->kind == ETP || (p->kind == TP && p->to != 255);
}

static void finish(struct run *r, struct pair *p, enum dbr_transfer_end end, int64_t at,
                   int64_t now)
{
    struct dbr_transfer *seen = &p->t.seen;

    if (end != DBR_TRANSFER_ABORTED && seen->breach)
        end = DBR_TRANSFER_BROKEN;
    else if (end != DBR_TRANSFER_ABORTED && is_connection(p) && lacking(p) == 0)
        end = DBR_TRANSFER_COMPLETE;
    seen->end = end;
    seen->end_ns = end == DBR_TRANSFER_COMPLETE ? now : at;
    seen->first_missing = lacking(p);
    seen->timer = end == DBR_TRANSFER_TIMED_OUT ? p->timer : DBR_TIMER_NONE;
    r->result.transfers = realloc(r->result.transfers,
                                  (r->result.count + 1) * sizeof *r->result.transfers);
    r->result.transfers[r->result.count++] = p->t;
    p->open = false;
}

static void wait(struct pair *p, enum dbr_transfer_timer timer, int64_t now)
{
    static const int64_t due[] = {0, 750 * MS, 1250 * MS, 1250 * MS, 1050 * MS};

    p->timer = timer;
    p->since = now;
    p->due = due[timer];
    p->limit = due[timer] + (is_connection(p) ? 200 * MS : 0);
    p->paused = false;
}

static void breach(struct pair *p, enum dbr_transfer_breach what)
{
    if (!p->t.seen.breach)
        p->t.seen.breach = what;
}

static unsigned pgn_of(const uint8_t *data)
{
    unsigned pgn = number(data + 5, 3);
    return (pgn / 256) % 256 < 240 ? pgn / 256 * 256 : pgn;
}

static void announce(struct run *r, struct pair *p, const struct dbr_frame *f, unsigned size,
                     unsigned packets, unsigned pgn)
{
    struct dbr_transfer *seen = &p->t.seen;
    int64_t now = f->at_ns;

    if (p->open && seen->pgn == pgn && seen->size == size && seen->packets == packets &&
        !seen->answered && !seen->received && !seen->ungranted) {
        seen->announcements++;
        wait(p, is_connection(p) ? DBR_TIMER_T3 : DBR_TIMER_T1, now);
        return;
    }
    if (p->open)
        finish(r, p, DBR_TRANSFER_REPLACED, now, now);
    memset(&p->t, 0, sizeof p->t);
    memset(p->have, 0, sizeof p->have);
    p->open = true;
    p->window_count = p->grant_count = 0;
    *seen = (struct dbr_transfer){.interface = p->interface, .source = p->from,
                                  .destination = p->to, .pgn = pgn, .size = size,
                                  .packets = packets, .start_ns = now, .announcements = 1};
    if (size == 0 || packets != (size + 6) / 7)
        breach(p, DBR_BREACH_SIZE);
    wait(p, is_connection(p) ? DBR_TIMER_T3 : DBR_TIMER_T1, now);
    if (is_connection(p))
        return;
    p->window_first = 1;
    p->window_count = packets;
    if (seen->breach)
        finish(r, p, DBR_TRANSFER_BROKEN, now, now);
}

static void open_window(struct pair *p, unsigned first, unsigned count)
{
    p->window_first = first;
    p->window_count = 0;
    for (unsigned i = first; i < first + count && i <= p->t.seen.packets; i++) {
        p->window_count++;
        p->t.seen.received -= p->have[i];
        p->have[i] = false;
    }
}

static void grant(struct pair *p, unsigned first, unsigned count, int64_t now)
{
    p->t.seen.answered = true;
    p->grant_count = 0;
    if (count == 0) {
        wait(p, DBR_TIMER_T4, now);
        return;
    }
    p->window_count = 0;
    if (first == 0 || first > p->t.seen.packets) {
        breach(p, DBR_BREACH_GRANT);
        wait(p, DBR_TIMER_T3, now);
        return;
    }
    if (p->kind == TP) {
        open_window(p, first, count);
    } else {
        p->grant_first = first;
        p->grant_count = count;
    }
    wait(p, DBR_TIMER_T2, now);
}

/* Content of a packet that may come. */
static void keep(struct pair *p, unsigned packet, const uint8_t *content, unsigned offset,
                 unsigned most)
{
    struct dbr_transfer *seen = &p->t.seen;
    unsigned left = seen->size > offset ? seen->size - offset : 0;
    unsigned count = left < most ? left : most;

    if (p->have[packet]) {
        seen->repeated++;
        if (!seen->breach && memcmp(p->t.payload + offset, content, count) != 0)
            breach(p, DBR_BREACH_DIFFERS);
        return;
    }
    p->have[packet] = true;
    seen->received++;
    if (!seen->breach)
        memcpy(p->t.payload + offset, content, count);
}

static void data(struct run *r, struct pair *p, const struct dbr_frame *f)
{
    unsigned packet = f->data[0] + (p->kind == ETP ? p->window_first - 1 : 0);
    int64_t now = f->at_ns;

    if (packet < p->window_first || packet >= p->window_first + p->window_count) {
        p->t.seen.ungranted++;
        if (p->timer == DBR_TIMER_T3 || p->timer == DBR_TIMER_T4)
            wait(p, p->timer, now);
        return;
    }
    keep(p, packet, f->data + 1, 7 * (packet - 1), 7);
    unsigned next = lacking(p);
    bool done = packet == p->window_first + p->window_count - 1 || next == 0 ||
                next >= p->window_first + p->window_count;
    wait(p, is_connection(p) && done ? DBR_TIMER_T3 : DBR_TIMER_T1, now);
    if (is_connection(p))
        return;
    if (p->t.seen.breach)
        finish(r, p, DBR_TRANSFER_BROKEN, now, now);
    else if (next == 0)
        finish(r, p, DBR_TRANSFER_COMPLETE, now, now);
}

static bool fast(struct run *r, struct pair *p, const struct dbr_frame *f)
{
    unsigned index = f->data[0] % 32, size = f->data[1];
    struct dbr_transfer *seen = &p->t.seen;

    if (index == 0) {
        bool again = p->open && seen->received == 1 && p->have[1] && seen->size == size &&
                     memcmp(p->t.payload, f->data + 2, size < 6 ? size : 6) == 0;
        if (p->open && !again)
            finish(r, p, DBR_TRANSFER_REPLACED, f->at_ns, f->at_ns);
        if (!again) {
            memset(&p->t, 0, sizeof p->t);
            memset(p->have, 0, sizeof p->have);
            p->open = true;
            *seen = (struct dbr_transfer){.interface = p->interface, .source = p->from,
                                          .destination = 255, .pgn = PLAIN_FAST_GROUP,
                                          .size = size, .start_ns = f->at_ns,
                                          .packets = size <= 6 ? 1 : 1 + (size - 6 + 6) / 7,
                                          .announcements = 1};
        }
        if (size == 0 || size > 223)
            breach(p, DBR_BREACH_SIZE);
        else
            keep(p, 1, f->data + 2, 0, 6);
    } else {
        if (!p->open || index >= seen->packets)
            return false;
        keep(p, index + 1, f->data + 1, 7 * index - 1, 7);
    }
    wait(p, DBR_TIMER_T1, f->at_ns);
    if (seen->breach)
        finish(r, p, DBR_TRANSFER_BROKEN, f->at_ns, f->at_ns);
    else if (lacking(p) == 0)
        finish(r, p, DBR_TRANSFER_COMPLETE, f->at_ns, f->at_ns);
    return true;
}

static bool abort_it(struct run *r, struct pair *p, const struct dbr_frame *f, bool by_receiver)
{
    if (!p->open || p->t.seen.pgn != pgn_of(f->data))
        return false;
    p->t.seen.abort_reason = f->data[1];
    p->t.seen.by_receiver = by_receiver;
    p->t.seen.answered |= by_receiver;
    finish(r, p, DBR_TRANSFER_ABORTED, f->at_ns, f->at_ns);
    return true;
}

/* A control message of the originator. */
static bool from_originator(struct run *r, struct pair *p, const struct dbr_frame *f)
{
    const uint8_t *d = f->data;

    switch (d[0]) {
    case 16:
    case 32:
        if (p->kind != TP || (d[0] == 32) != (p->to == 255))
            return false;
        announce(r, p, f, number(d + 1, 2), d[3], pgn_of(d));
        return true;
    case 20:
        if (p->kind != ETP || p->to == 255)
            return false;
        announce(r, p, f, number(d + 1, 4), (number(d + 1, 4) + 6) / 7, pgn_of(d));
        return true;
    case 22:
        if (p->kind != ETP || !p->open || p->t.seen.pgn != pgn_of(d) || p->grant_count == 0 ||
            number(d + 2, 3) + 1 != p->grant_first)
            return false;
        open_window(p, p->grant_first, d[1] < p->grant_count ? d[1] : p->grant_count);
        p->grant_count = 0;
        wait(p, DBR_TIMER_T2, f->at_ns);
        return true;
    case 255:
        return abort_it(r, p, f, false);
    default:
        return false;
    }
}

static void acknowledge(struct run *r, struct pair *p, const struct dbr_frame *f, unsigned size)
{
    struct dbr_transfer *seen = &p->t.seen;

    seen->answered = seen->acknowledged = true;
    if (size != seen->size || (seen->received == 0 && seen->ungranted == 0))
        breach(p, DBR_BREACH_ACKNOWLEDGED);
    finish(r, p, lacking(p) ? DBR_TRANSFER_UNRECORDED : DBR_TRANSFER_COMPLETE, f->at_ns,
           f->at_ns);
}

/* A control message of the receiver. */
static bool from_receiver(struct run *r, struct pair *p, const struct dbr_frame *f)
{
    const uint8_t *d = f->data;
    bool etp = p->kind == ETP;

    if (!p->open || p->t.seen.pgn != pgn_of(d))
        return false;
    if (d[0] == (etp ? 21 : 17))
        grant(p, number(d + 2, etp ? 3 : 1), d[1], f->at_ns);
    else if (d[0] == (etp ? 23 : 19))
        acknowledge(r, p, f, number(d + 1, etp ? 4 : 2));
    else if (d[0] == 255)
        return abort_it(r, p, f, true);
    else
        return false;
    return true;
}

static bool take(struct run *r, struct pair *p, const struct dbr_frame *f)
{
    unsigned group = f->id >> 16 & 0x3FF;
    uint8_t source = (uint8_t)f->id, destination = (uint8_t)(f->id >> 8);

    if (p->kind == FAST)
        return (f->id >> 8 & 0x3FFFF) == PLAIN_FAST_GROUP && source == p->from &&
               f->data[0] / 32 == p->sequence && fast(r, p, f);
    bool forth = source == p->from && destination == p->to;
    bool back = source == p->to && destination == p->from;
    if (group == (p->kind == TP ? 0xEB : 0xC7) && forth && p->open) {
        data(r, p, f);
        return true;
    }
    if (group != (p->kind == TP ? 0xEC : 0xC8))
        return false;
    bool done = forth && from_originator(r, p, f);
    return (back && from_receiver(r, p, f)) || done;
}

static void go_through(struct run *r, struct pair *p)
{
    int64_t last = INT64_MAX;

    for (size_t i = 0; i < r->count; i++) {
        const struct dbr_frame *f = &r->frames[i];
        if (f->interface != p->interface)
            continue;
        if (last != INT64_MAX && f->at_ns - last >= 1000 * MS)
            p->paused = p->paused || f->at_ns > p->since;
        last = f->at_ns;
        if (p->open && f->at_ns > p->since + p->limit)
            finish(r, p, p->paused ? DBR_TRANSFER_UNFINISHED : DBR_TRANSFER_TIMED_OUT,
                   p->since + p->due, f->at_ns);
        r->handled[i] |= take(r, p, f);
    }
    int64_t end = r->count ? r->frames[r->count - 1].at_ns : 0;
    if (p->open)
        finish(r, p, DBR_TRANSFER_UNFINISHED, end, end);
}

static void all_pairs(struct run *r, uint8_t interface, uint8_t from, uint8_t highest)
{
    static struct pair p;

    for (unsigned to = 0; to <= 255; to = to == highest ? 255 : to + 1) {
        p = (struct pair){.kind = TP, .interface = interface, .from = from, .to = (uint8_t)to};
        go_through(r, &p);
        p = (struct pair){.kind = ETP, .interface = interface, .from = from, .to = (uint8_t)to};
        go_through(r, &p);
    }
    for (unsigned sequence = 0; sequence < 8; sequence++) {
        p = (struct pair){.kind = FAST, .interface = interface, .from = from, .to = 255,
                          .sequence = sequence};
        go_through(r, &p);
    }
}

struct plain_result plain_transport(const struct dbr_frame *frames, size_t count,
                                    uint8_t highest)
{
    struct run r = {.frames = frames, .count = count, .handled = calloc(count + 1, 1)};

    for (uint8_t interface = 0; interface < 2; interface++)
        for (unsigned from = 0; from <= highest; from++)
            all_pairs(&r, interface, (uint8_t)from, highest);
    for (size_t i = 0; i < count; i++) {
        unsigned group = frames[i].id >> 16 & 0x3FF;
        bool is_data = group == 0xEB || group == 0xC7 ||
                       (frames[i].id >> 8 & 0x3FFFF) == PLAIN_FAST_GROUP;
        r.result.stray_data += is_data && !r.handled[i];
        r.result.stray_control += (group == 0xEC || group == 0xC8) && !r.handled[i];
    }
    for (size_t i = 0; i < r.result.count; i++)
        r.result.transfers[i].seen.data =
            r.result.transfers[i].seen.end == DBR_TRANSFER_COMPLETE
                ? r.result.transfers[i].payload
                : NULL;
    free(r.handled);
    return r.result;
}
