/*
 * transport_tp.c - the transport protocol: broadcasts and connections of up to 1785 bytes.
 *
 * Layout of the control message: SAE J1939-21 5.10.3, ISO 11783-3 5.11. Byte 1 says what
 * it is, bytes 6 to 8 which group the message inside has.
 */
#include "decoding/transfers.h"

#define CONTROL_BYTES 8u

enum tp_byte { TP_RTS = 16, TP_CTS = 17, TP_ACKNOWLEDGE = 19, TP_BROADCAST = 32, TP_ABORT = 255 };

static void announced(struct dbr_transport *t, const struct carried *c, enum dbr_carrier carrier)
{
    const uint8_t *data = c->frame->data;
    bool to_all = c->id.destination == DBR_ADDRESS_GLOBAL;

    if (to_all != (carrier == DBR_CARRIER_BROADCAST)) {
        control_strayed(t, c, 0, 0);
        return;
    }
    connection_announced(t, c, SESSION_TP,
                         &(struct dbr_transfer){.interface = c->frame->interface,
                                                .source = c->id.source,
                                                .destination = c->id.destination,
                                                .priority = c->id.priority,
                                                .pgn = control_group(data),
                                                .carrier = carrier,
                                                .start_ns = c->frame->at_ns,
                                                .size = little_endian(data + 1, 2),
                                                .packets = data[3]});
}

/* What the receiver says to the originator of a connection. */
static void answered(struct dbr_transport *t, const struct carried *c)
{
    const uint8_t *data = c->frame->data;
    struct session *s = session_towards(t, c, SESSION_TP);

    if (!s || s->seen.pgn != control_group(data)) {
        bool grants = data[0] == TP_CTS;
        control_strayed(t, c, grants ? data[1] : 0, grants ? data[2] : 0);
    } else if (data[0] == TP_CTS) {
        connection_granted(t, c, s, data[2], data[1]);
    } else {
        connection_acknowledged(t, c, s, little_endian(data + 1, 2));
    }
}

void tp_control(struct dbr_transport *t, const struct carried *c)
{
    if (c->frame->length < CONTROL_BYTES) {
        control_strayed(t, c, 0, 0);
        return;
    }
    switch (c->frame->data[0]) {
    case TP_RTS:
        announced(t, c, DBR_CARRIER_CONNECTION);
        break;
    case TP_BROADCAST:
        announced(t, c, DBR_CARRIER_BROADCAST);
        break;
    case TP_CTS:
    case TP_ACKNOWLEDGE:
        answered(t, c);
        break;
    case TP_ABORT:
        connection_aborted(t, c, SESSION_TP);
        break;
    default:
        control_strayed(t, c, 0, 0);
    }
}

void tp_data(struct dbr_transport *t, const struct carried *c)
{
    struct session *s = session_from(t, c, SESSION_TP);

    if (!s || c->frame->length == 0)
        t->counts.stray_data++;
    else
        connection_data(t, c, s, c->frame->data[0]);
}
