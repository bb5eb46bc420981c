/*
 * transfers.h - open transfers: found by who sends what to whom, ended by time, bounded.
 *
 * Shared by the three carriers (transport_tp.c, transport_etp.c, fast_packet.c), which
 * know the rules of their control messages; this knows sessions, memory and time.
 */
#ifndef DRAWBAR_DECODING_TRANSFERS_H
#define DRAWBAR_DECODING_TRANSFERS_H

#include "decoding/packet_set.h"
#include "drawbar/can_id.h"
#include "drawbar/limits.h"
#include "drawbar/transport.h"

#define PACKET_BYTES 7u /* of data in a packet of TP and ETP, after its sequence number */

/* Kinds of sessions between the same two. */
enum session_kind { SESSION_TP, SESSION_ETP, SESSION_FAST };

/* How long a session waits for its next frame; all of one kind wait equally long. */
enum wait {
    WAIT_PACKET,     /* broadcast, fast packet: T1 */
    WAIT_NEXT,       /* connection, within a grant: T1 */
    WAIT_ANSWER,     /* T2 or T3 */
    WAIT_AFTER_HOLD, /* T4 */
    WAITS
};

struct session {
    struct dbr_transfer seen;
    uint64_t key;
    struct packet_set packets;
    uint32_t granted_first, granted_count; /* ETP: by a grant that no offset has used yet */
    uint32_t window_first, window_end;     /* packets that may come now; the end is beyond */
    uint8_t *data;   /* NULL: nothing kept yet, or too large */
    uint32_t capacity;
    bool too_large;  /* for the ceiling of memory */
    enum wait wait;
    int64_t since_ns; /* it waits */
    uint16_t next;    /* in its bucket, or in the list of free ones; index + 1 */
    uint16_t earlier, later; /* of those that wait equally long; index + 1 */
};

/* What is known of one interface. */
struct line {
    int64_t last_ns;     /* its last frame */
    int64_t resumed_ns;  /* the last frame after a pause */
    int64_t deadline_ns; /* until then nothing times out */
    struct {
        uint16_t first, last; /* index + 1, in the order of their deadlines */
    } waiting[WAITS];
};

#define BUCKETS (2u * DBR_TRANSFERS_MAX)

struct dbr_transport {
    dbr_transfer_ended *ended;
    dbr_control_strayed *strayed;
    void *context;
    struct dbr_transport_counts counts;
    size_t bytes; /* kept for all sessions */
    struct line lines[DBR_INTERFACES_MAX];
    uint16_t buckets[BUCKETS]; /* index + 1 */
    uint16_t free_first;       /* of sessions that were used and ended; index + 1 */
    uint16_t used;             /* sessions that were ever used */
    struct session sessions[DBR_TRANSFERS_MAX];
};

/* A frame of a carrier, and whose it is. */
struct carried {
    const struct dbr_frame *frame;
    struct dbr_can_id id;
};

/* A frame on this interface: what should have come before it did not. */
void line_frame(struct dbr_transport *t, struct line *line, int64_t now);

/* What tells sessions apart. `more`: of fast packets, their group and sequence counter. */
uint64_t session_key(enum session_kind kind, uint8_t interface, uint8_t source,
                     uint8_t destination, uint32_t more);

struct session *session_find(struct dbr_transport *t, uint64_t key);

/* Opens a session for `announced`; NULL where there is no room, which is counted. */
struct session *session_open(struct dbr_transport *t, uint64_t key,
                             const struct dbr_transfer *announced);

/* It waits anew, from now on. */
void session_wait(struct dbr_transport *t, struct session *s, enum wait wait,
                  enum dbr_transfer_timer timer, int64_t now);

/* A packet that belongs to it came, its content at `offset` of the message. */
void session_take(struct dbr_transport *t, struct session *s, uint32_t packet, uint32_t offset,
                  const uint8_t *content, uint32_t count);

bool session_is_whole(const struct session *s);

/*
 * Ends it, tells, and forgets it. An end that nobody spoke out gives way to what is known
 * better: a breach is broken, a connection of which all packets came is complete.
 */
void session_end(struct dbr_transport *t, struct session *s, enum dbr_transfer_end end,
                 int64_t now);

/* The first breach counts. */
void session_breach(struct session *s, enum dbr_transfer_breach breach, uint32_t packet,
                    uint32_t count);

/* A control message without a session. */
void control_strayed(struct dbr_transport *t, const struct carried *c, uint32_t packets,
                     uint32_t next);

/* `bytes` bytes, least significant first. */
uint32_t little_endian(const uint8_t *bytes, unsigned count);

/* The group that a control message speaks of, in its last three bytes; PDU1 without a destination. */
uint32_t control_group(const uint8_t *data);

/* transport_tp.c, transport_etp.c, fast_packet.c */
void tp_control(struct dbr_transport *t, const struct carried *c);
void tp_data(struct dbr_transport *t, const struct carried *c);
void etp_control(struct dbr_transport *t, const struct carried *c);
void etp_data(struct dbr_transport *t, const struct carried *c);
void fast_frame(struct dbr_transport *t, const struct carried *c);

/* connections.c: what TP and ETP have in common once a connection was announced. */
void connection_announced(struct dbr_transport *t, const struct carried *c,
                          enum session_kind kind, const struct dbr_transfer *announced);
void connection_granted(struct dbr_transport *t, const struct carried *c, struct session *s,
                        uint32_t first, uint32_t count);
void connection_open_window(struct session *s, uint32_t first, uint32_t count);
void connection_data(struct dbr_transport *t, const struct carried *c, struct session *s,
                     uint32_t packet);
void connection_acknowledged(struct dbr_transport *t, const struct carried *c,
                             struct session *s, uint32_t size);
void connection_aborted(struct dbr_transport *t, const struct carried *c,
                        enum session_kind kind);

/* The session that the sender of `c` takes part in: as originator, or as receiver. */
struct session *session_from(struct dbr_transport *t, const struct carried *c,
                             enum session_kind kind);
struct session *session_towards(struct dbr_transport *t, const struct carried *c,
                                enum session_kind kind);

#endif
