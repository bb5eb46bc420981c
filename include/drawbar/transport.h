/*
 * transport.h - messages that do not fit one frame: put together again, or why not.
 *
 * Four carriers, told apart by parameter group: the broadcast and the connection of
 * the transport protocol (SAE J1939-21 5.10, ISO 11783-3 5.11), the extended
 * transport protocol (ISO 11783-3 5.12), and the fast packet (NMEA 2000). Sessions
 * between all pairs of addresses of all interfaces run side by side.
 *
 *     transport = dbr_transport_new(transfer_ended, context, &error);
 *     dbr_transport_frame(transport, frame, is_fast);    each 29-bit data frame, in order
 *     dbr_transport_finish(transport, end_ns);           what is open then is unfinished
 *
 * Each transfer ends exactly once, with a call of `ended`: whole, with its payload,
 * or with the reason why not. A payload is handed out only where every byte of it
 * came under one announcement, and in a connection under the receiver's grants: a flow
 * that breaks the rules never yields a wrong one.
 * Memory has a ceiling (limits.h); a transfer beyond it is followed without its data.
 */
#ifndef DRAWBAR_TRANSPORT_H
#define DRAWBAR_TRANSPORT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/error.h"
#include "drawbar/frame.h"

DBR_API_BEGIN

enum dbr_carrier {
    DBR_CARRIER_FRAME,      /* a single frame: no transfer */
    DBR_CARRIER_BROADCAST,  /* TP, announced to everyone (BAM) */
    DBR_CARRIER_CONNECTION, /* TP, to one destination (RTS, CTS, end-of-message acknowledgement) */
    DBR_CARRIER_EXTENDED,   /* ETP, to one destination */
    DBR_CARRIER_FAST        /* fast packet */
};

/* How a transfer ended. */
enum dbr_transfer_end {
    DBR_TRANSFER_COMPLETE,   /* all packets came; `acknowledged` says whether the receiver said so */
    DBR_TRANSFER_ABORTED,    /* one side said so, with `abort_reason` */
    DBR_TRANSFER_TIMED_OUT,  /* `timer` ran out, and nobody said so */
    DBR_TRANSFER_REPLACED,   /* a new announcement between the same two took its place */
    DBR_TRANSFER_BROKEN,     /* it went on against the rules, see `breach` */
    DBR_TRANSFER_UNRECORDED, /* the receiver acknowledged it, but the recording lacks some of its
                                packets or grants: no fault on the bus */
    DBR_TRANSFER_UNFINISHED  /* the recording ended, or paused for a second, first: no fault */
};

/*
 * A rule that a transfer broke. Once one is broken nobody can say whose data is whose: the
 * transfer never yields a payload. It is followed on, since one of the two may still say why
 * (aborted, with a breach); else it ends as broken.
 */
enum dbr_transfer_breach {
    DBR_BREACH_NONE,
    DBR_BREACH_SIZE,         /* announced packets do not fit the announced bytes, or none at all */
    DBR_BREACH_GRANT,        /* granted from `breach_packet` on, which the message does not have */
    DBR_BREACH_DIFFERS,      /* `breach_packet` came twice under one grant, with other content */
    DBR_BREACH_ACKNOWLEDGED  /* acknowledged without any data, or with another size */
};

/* The wait that took too long (SAE J1939-21 5.10.2.4; values in src/decoding/transport.c). */
enum dbr_transfer_timer {
    DBR_TIMER_NONE,
    DBR_TIMER_T1, /* data packet to data packet */
    DBR_TIMER_T2, /* grant to first data packet */
    DBR_TIMER_T3, /* request or last data packet to grant or acknowledgement */
    DBR_TIMER_T4  /* hold to next grant */
};

struct dbr_transfer {
    uint8_t interface;
    uint8_t source;      /* the originator: who sends the data */
    uint8_t destination; /* DBR_ADDRESS_GLOBAL for a broadcast */
    uint8_t priority;    /* of the frames that carried it */
    uint32_t pgn;        /* of the message inside */
    enum dbr_carrier carrier;
    enum dbr_transfer_end end;
    int64_t start_ns, end_ns; /* announcement; last frame, or when the timer ran out. Never before
                                 the frame that is being handled where complete */
    uint32_t size;       /* bytes announced */
    uint32_t packets;    /* that these bytes need */
    uint32_t received;   /* different packets that came */
    uint32_t repeated;   /* packets that came again */
    uint32_t ungranted;  /* data packets beyond what the receiver had granted: not counted above */
    uint32_t first_missing; /* number of the first packet that did not come; 0: none */
    uint32_t announcements; /* how often it was announced before anything else came */
    uint8_t abort_reason;   /* J1939-21 table 7, ISO 11783-3; counts where aborted */
    bool by_receiver;       /* where aborted: the receiver did it */
    bool answered;          /* the receiver said anything at all */
    bool acknowledged;      /* the receiver said that it has all */
    enum dbr_transfer_breach breach;
    uint32_t breach_packet, breach_count; /* number of that packet; how many were granted */
    enum dbr_transfer_timer timer;
    const uint8_t *data; /* where complete: `size` bytes, valid during the call. NULL where not
                            complete, or complete and beyond the ceiling of memory */
    const uint8_t *prefix;  /* of TP and ETP, where not complete: its first bytes, up to the first
                               that did not come, valid during the call; NULL where none are kept */
    uint32_t prefix_length; /* bytes */
};

/* A grant, acknowledgement, offset or abort that belongs to no transfer. */
struct dbr_stray_control {
    uint8_t interface, source, destination;
    uint8_t control;  /* its first byte: 17 CTS, 19 acknowledgement, 255 abort; ETP 21, 22, 23 */
    bool extended;    /* of ETP */
    uint32_t pgn;     /* of the message that it speaks of */
    uint32_t packets; /* CTS: how many packets it grants */
    uint32_t next;    /* CTS: from which number on */
    int64_t at_ns;
};

/* Counted, not reported one by one. */
struct dbr_transport_counts {
    uint64_t stray_data;     /* data packets that belong to no announcement; a recording that
                                begins amid a transfer has some */
    uint64_t stray_control;  /* grants, acknowledgements and aborts without a session */
    uint64_t refused;        /* announcements beyond DBR_TRANSFERS_MAX sessions */
    uint64_t without_data;   /* transfers whose payload exceeded the ceiling of memory */
    bool out_of_memory;      /* a payload was lost below the ceiling */
};

/* A transfer ended. `transfer` and its data are valid during the call. */
typedef void dbr_transfer_ended(void *context, const struct dbr_transfer *transfer);

/* A control message strayed; valid during the call. */
typedef void dbr_control_strayed(void *context, const struct dbr_stray_control *control);

struct dbr_transport;

/* NULL on failure (out of memory). */
struct dbr_transport *dbr_transport_new(dbr_transfer_ended *ended, void *context,
                                        struct dbr_error *error);

/* Who wants to know of stray control messages as well; the same context. */
void dbr_transport_on_stray(struct dbr_transport *transport, dbr_control_strayed *strayed);

/*
 * Takes a frame; others than 29-bit classic data frames are ignored. `is_fast`: its group is
 * a fast packet, which only the group's definition can tell (NMEA 2000; enum dbr_packing).
 * `ended` may be called several times, also for sessions that this frame's time ends.
 */
void dbr_transport_frame(struct dbr_transport *transport, const struct dbr_frame *frame,
                         bool is_fast);

/* The recording ends: ends what is open. */
void dbr_transport_finish(struct dbr_transport *transport, int64_t end_ns);

const struct dbr_transport_counts *dbr_transport_counts(const struct dbr_transport *transport);
void dbr_transport_free(struct dbr_transport *transport);

/* "connection", ...; "timed out", ...; the words of an abort reason, NULL for one that no standard
 * defines. `extended`: of ETP, which has reasons of its own. Static storage. */
const char *dbr_carrier_name(enum dbr_carrier carrier);
const char *dbr_transfer_end_words(enum dbr_transfer_end end);
const char *dbr_transfer_timer_words(enum dbr_transfer_timer timer);
const char *dbr_abort_reason_words(uint8_t reason, bool extended);

DBR_API_END

#endif
