/*
 * transport.c - see drawbar/transport.h: sends each frame to its carrier, and time to all.
 */
#include "drawbar/transport.h"

#include <stdlib.h>

#include "decoding/transfers.h"

struct dbr_transport *dbr_transport_new(dbr_transfer_ended *ended, void *context,
                                        struct dbr_error *error)
{
    struct dbr_transport *t = calloc(1, sizeof *t);

    if (!t) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    t->ended = ended;
    t->context = context;
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        t->lines[i].deadline_ns = t->lines[i].last_ns = INT64_MAX;
    return t;
}

void dbr_transport_on_stray(struct dbr_transport *t, dbr_control_strayed *strayed)
{
    t->strayed = strayed;
}

/* The group without its low byte: the four of TP and ETP have a destination there. */
static uint32_t group_of(uint32_t id)
{
    return id >> 8 & DBR_PGN_MAX & ~0xFFu;
}

static void carry(struct dbr_transport *t, const struct dbr_frame *frame,
                  void (*handle)(struct dbr_transport *, const struct carried *))
{
    const struct carried c = {frame, dbr_can_id_split(frame->id)};
    handle(t, &c);
}

void dbr_transport_frame(struct dbr_transport *t, const struct dbr_frame *frame, bool is_fast)
{
    const uint8_t others = DBR_FRAME_REMOTE | DBR_FRAME_ERROR | DBR_FRAME_FD | DBR_FRAME_COPY;

    if (!(frame->flags & DBR_FRAME_EXTENDED) || (frame->flags & others) ||
        frame->interface >= DBR_INTERFACES_MAX)
        return;
    line_frame(t, &t->lines[frame->interface], frame->at_ns);
    switch (group_of(frame->id)) {
    case DBR_PGN_TRANSPORT_DATA:
        carry(t, frame, tp_data);
        break;
    case DBR_PGN_TRANSPORT_CONTROL:
        carry(t, frame, tp_control);
        break;
    case DBR_PGN_EXTENDED_DATA:
        carry(t, frame, etp_data);
        break;
    case DBR_PGN_EXTENDED_CONTROL:
        carry(t, frame, etp_control);
        break;
    default:
        if (is_fast)
            carry(t, frame, fast_frame);
    }
}

void dbr_transport_finish(struct dbr_transport *t, int64_t end_ns)
{
    for (uint16_t i = 0; i < t->used; i++)
        if (t->sessions[i].key != 0)
            session_end(t, &t->sessions[i], DBR_TRANSFER_UNFINISHED, end_ns);
}

const struct dbr_transport_counts *dbr_transport_counts(const struct dbr_transport *t)
{
    return &t->counts;
}

void dbr_transport_free(struct dbr_transport *t)
{
    if (!t)
        return;
    for (uint16_t i = 0; i < t->used; i++)
        free(t->sessions[i].data);
    free(t);
}
