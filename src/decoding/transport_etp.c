/*
 * transport_etp.c - the extended transport protocol: connections of up to 117 440 505 bytes.
 *
 * Layout: ISO 11783-3 5.12. A packet's number has one byte; an offset that the originator
 * sends before each bunch of packets makes it one of 16 million.
 */
#include "decoding/transfers.h"

#define CONTROL_BYTES 8u
#define SIZE_MAX_BYTES 117440505u /* (2^24 - 1) packets of 7 bytes */

enum etp_byte { ETP_RTS = 20, ETP_CTS = 21, ETP_OFFSET = 22, ETP_ACKNOWLEDGE = 23, ETP_ABORT = 255 };

/* The number of packets is not told: it follows from the size, unless that is impossible. */
static void announced(struct dbr_transport *t, const struct carried *c)
{
    const uint8_t *data = c->frame->data;
    uint32_t size = little_endian(data + 1, 4);
    uint32_t packets = size <= SIZE_MAX_BYTES ? (size + PACKET_BYTES - 1) / PACKET_BYTES : 0;

    if (c->id.destination == DBR_ADDRESS_GLOBAL) {
        control_strayed(t, c, 0, 0);
        return;
    }
    connection_announced(t, c, SESSION_ETP,
                         &(struct dbr_transfer){.interface = c->frame->interface,
                                                .source = c->id.source,
                                                .destination = c->id.destination,
                                                .priority = c->id.priority,
                                                .pgn = control_group(data),
                                                .carrier = DBR_CARRIER_EXTENDED,
                                                .start_ns = c->frame->at_ns,
                                                .size = size,
                                                .packets = packets});
}

static void answered(struct dbr_transport *t, const struct carried *c)
{
    const uint8_t *data = c->frame->data;
    struct session *s = session_towards(t, c, SESSION_ETP);

    if (!s || s->seen.pgn != control_group(data)) {
        bool grants = data[0] == ETP_CTS;
        control_strayed(t, c, grants ? data[1] : 0, grants ? little_endian(data + 2, 3) : 0);
    } else if (data[0] == ETP_CTS) {
        connection_granted(t, c, s, little_endian(data + 2, 3), data[1]);
    } else {
        connection_acknowledged(t, c, s, little_endian(data + 1, 4));
    }
}

/*
 * The packets that follow begin after this offset: as granted, and no more than that. One
 * that does not fit the grant opens nothing; the receiver has its own words for it (abort
 * reasons 9 to 12).
 */
static void offset_told(struct dbr_transport *t, const struct carried *c)
{
    const uint8_t *data = c->frame->data;
    uint32_t count = data[1], first = little_endian(data + 2, 3) + 1;
    struct session *s = session_from(t, c, SESSION_ETP);

    if (!s || s->seen.pgn != control_group(data) || s->granted_count == 0 ||
        first != s->granted_first) {
        control_strayed(t, c, count, first);
        return;
    }
    connection_open_window(s, first, count < s->granted_count ? count : s->granted_count);
    s->granted_count = 0;
    session_wait(t, s, WAIT_ANSWER, DBR_TIMER_T2, c->frame->at_ns);
}

void etp_control(struct dbr_transport *t, const struct carried *c)
{
    if (c->frame->length < CONTROL_BYTES) {
        control_strayed(t, c, 0, 0);
        return;
    }
    switch (c->frame->data[0]) {
    case ETP_RTS:
        announced(t, c);
        break;
    case ETP_CTS:
    case ETP_ACKNOWLEDGE:
        answered(t, c);
        break;
    case ETP_OFFSET:
        offset_told(t, c);
        break;
    case ETP_ABORT:
        connection_aborted(t, c, SESSION_ETP);
        break;
    default:
        control_strayed(t, c, 0, 0);
    }
}

/* Numbers count from the offset, that is from before the first packet of the window. */
void etp_data(struct dbr_transport *t, const struct carried *c)
{
    struct session *s = session_from(t, c, SESSION_ETP);

    if (!s || c->frame->length == 0)
        t->counts.stray_data++;
    else
        connection_data(t, c, s, s->window_first + c->frame->data[0] - 1);
}
