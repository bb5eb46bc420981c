/*
 * decoder.h - frames in, messages out: whole, with the definition that explains them.
 *
 * Puts together what travels in several frames (transport.h), learns NAMEs from
 * address claims, and finds the definition in force for each message, once for a
 * sender and group and again when the sender's NAME becomes known.
 *
 *     decoder = dbr_decoder_new(definitions, seen, context, &error);
 *     dbr_decoder_frame(decoder, &frame);       each frame of a recording, in order
 *     dbr_decoder_finish(decoder, end_ns);      transfers still open are unfinished
 *
 * Everything that a recording holds is told exactly once, by a call of `seen`. Memory
 * is fixed: more senders and groups than DBR_STREAMS_MAX are looked up each time.
 */
#ifndef DRAWBAR_DECODER_H
#define DRAWBAR_DECODER_H

#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/can_id.h"
#include "drawbar/definitions.h"
#include "drawbar/error.h"
#include "drawbar/frame.h"
#include "drawbar/transport.h"

DBR_API_BEGIN

enum dbr_seen_kind {
    DBR_SEEN_MESSAGE,  /* a message: one frame, or a transfer that came whole */
    DBR_SEEN_FRAGMENT, /* a frame that is part of a transfer, or steers one */
    DBR_SEEN_FAILED,   /* a transfer that did not become a message; `transfer->end` tells why */
    DBR_SEEN_FRAME     /* a frame that is no message: error, remote, 11-bit or FD */
};

struct dbr_seen {
    enum dbr_seen_kind kind;
    uint8_t interface;
    int64_t at_ns;        /* of the frame; of a transfer: of its last frame, or when it failed */
    struct dbr_can_id id; /* all but DBR_SEEN_FRAME. Of a transfer: of the message inside */
    const uint8_t *data;  /* NULL: the payload did not come whole, or exceeds memory's ceiling */
    size_t length;        /* bytes of data; of a transfer without data: as announced */
    const struct dbr_message *message;   /* the definition in force; NULL where there is none */
    const struct dbr_transfer *transfer; /* NULL where it came in one frame */
    const struct dbr_frame *frame;       /* NULL where it came in several */
};

/* `seen` and what it points to are valid during the call. */
typedef void dbr_message_seen(void *context, const struct dbr_seen *seen);

struct dbr_decoder_counts {
    uint64_t copies; /* frames that the recorder sent and heard again: told once, not twice */
    uint64_t failed_transfers;
    uint64_t unseen_transfers; /* no fault on the bus: the recording lacks a part or the end of them */
};

struct dbr_decoder;

/* `definitions` must outlive the decoder. NULL on failure (out of memory). */
struct dbr_decoder *dbr_decoder_new(const struct dbr_definitions *definitions,
                                    dbr_message_seen *seen, void *context,
                                    struct dbr_error *error);

void dbr_decoder_frame(struct dbr_decoder *decoder, const struct dbr_frame *frame);
void dbr_decoder_finish(struct dbr_decoder *decoder, int64_t end_ns);

const struct dbr_decoder_counts *dbr_decoder_counts(const struct dbr_decoder *decoder);
const struct dbr_transport_counts *dbr_decoder_transport(const struct dbr_decoder *decoder);

/*
 * Definitions that would hold if the sender's NAME were known, which no claim has
 * told so far: the one at `index`, from 0, and who sends the group. NULL after the last.
 */
const struct dbr_message *dbr_decoder_waiting(const struct dbr_decoder *decoder, size_t index,
                                              uint8_t *interface, uint8_t *address);

void dbr_decoder_free(struct dbr_decoder *decoder);

DBR_API_END

#endif
