/* can_packet.c - see can_packet.h. Layouts: the capture file link type registry, linux/can.h. */
#include "reading/can_packet.h"

#include <string.h>

#include "reading/cursor.h"

#define ID_FLAG_EXTENDED 0x80000000u /* linux/can.h */
#define ID_FLAG_REMOTE 0x40000000u
#define ID_FLAG_ERROR 0x20000000u

#define FD_FLAG_BRS 0x01u
#define FD_FLAG_ESI 0x02u
#define FD_FLAG_FD 0x04u
#define FD_FLAGS_UNKNOWN 0xF8u
#define XL_LENGTH_FLAG 0x80u

#define PROTOCOL_CAN 0x000Cu
#define PROTOCOL_CAN_FD 0x000Du
#define PROTOCOL_CAN_XL 0x000Eu

#define COOKED_TYPE_SENT 4u

bool can_length_valid(size_t length)
{
    static const uint8_t fd_steps[] = {12, 16, 20, 24, 32, 48, 64};

    if (length <= DBR_CLASSIC_DATA_MAX)
        return true;
    for (size_t i = 0; i < sizeof fd_steps; i++)
        if (length == fd_steps[i])
            return true;
    return false;
}

static bool reject(enum dbr_rejection *why, enum dbr_rejection reason)
{
    *why = reason;
    return false;
}

/* The identifier word of a SocketCAN record: 11 or 29 bits and three flags. */
static bool read_id_word(struct dbr_frame *frame, uint32_t word, enum dbr_rejection *why)
{
    frame->id = word & DBR_EXTENDED_ID_MAX;
    if (word & ID_FLAG_ERROR)
        frame->flags |= DBR_FRAME_ERROR;
    else if (word & ID_FLAG_EXTENDED)
        frame->flags |= DBR_FRAME_EXTENDED;
    else if (frame->id > DBR_STANDARD_ID_MAX)
        return reject(why, DBR_REJECTION_ID_RANGE);
    if ((word & ID_FLAG_REMOTE) && !(word & ID_FLAG_ERROR))
        frame->flags |= DBR_FRAME_REMOTE;
    return true;
}

/* Which protocol: 0 where the link type does not say. */
static bool read_record(struct dbr_frame *frame, struct cursor *c, uint16_t protocol,
                        enum dbr_rejection *why)
{
    uint32_t word = cursor_u32(c);
    uint8_t length = cursor_u8(c), flags = cursor_u8(c);
    cursor_u8(c);
    uint8_t raw_dlc = cursor_u8(c);

    if (c->failed)
        return reject(why, DBR_REJECTION_PACKET_SHORT);
    if (length & XL_LENGTH_FLAG)
        return reject(why, DBR_REJECTION_CAN_XL);
    if (!read_id_word(frame, word, why))
        return false;
    /* Before FD this byte was padding, and some recorders left rubbish in it. */
    if (flags & FD_FLAGS_UNKNOWN)
        flags = 0;
    /* Older captures of FD frames lack the flag; their length betrays them. */
    bool fd = protocol == PROTOCOL_CAN_FD || length > DBR_CLASSIC_DATA_MAX ||
              (protocol != PROTOCOL_CAN && (flags & FD_FLAG_FD) != 0);
    if (!can_length_valid(length))
        return reject(why, fd ? DBR_REJECTION_FD_LENGTH : DBR_REJECTION_BAD_LENGTH);
    frame->length = length;
    if (fd) {
        frame->flags |= DBR_FRAME_FD;
        frame->flags |= (uint8_t)(flags & FD_FLAG_BRS ? DBR_FRAME_BRS : 0);
        frame->flags |= (uint8_t)(flags & FD_FLAG_ESI ? DBR_FRAME_ESI : 0);
    } else if (length == DBR_CLASSIC_DATA_MAX && raw_dlc > length && raw_dlc <= 15) {
        frame->raw_dlc = raw_dlc;
    }
    if (frame->flags & DBR_FRAME_REMOTE)
        return true;
    const uint8_t *data = cursor_take(c, length);
    if (!data)
        return reject(why, DBR_REJECTION_PACKET_SHORT);
    memcpy(frame->data, data, length);
    return true;
}

static void skip(struct cursor *c, size_t count)
{
    (void)cursor_take(c, count);
}

/* Cooked v1: type(2) hardware(2) address length(2) address(8) protocol(2), big-endian. */
static uint16_t read_cooked_v1(struct can_packet *out, struct cursor *c)
{
    if (cursor_u16(c) == COOKED_TYPE_SENT)
        out->frame->flags |= DBR_FRAME_SENT;
    skip(c, 2 + 2 + 8);
    return cursor_u16(c);
}

/* Cooked v2: protocol(2) zero(2) interface(4) hardware(2) type(1) address length(1) address(8). */
static uint16_t read_cooked_v2(struct can_packet *out, struct cursor *c)
{
    uint16_t protocol = cursor_u16(c);

    skip(c, 2);
    out->interface_index = cursor_u32(c);
    skip(c, 2);
    if (cursor_u8(c) == COOKED_TYPE_SENT)
        out->frame->flags |= DBR_FRAME_SENT;
    skip(c, 1 + 8);
    return protocol;
}

bool can_packet_read(struct can_packet *out, int link_type, bool host_big_endian,
                     const uint8_t *bytes, size_t length, enum dbr_rejection *why)
{
    struct cursor c = cursor_over(bytes, length, true);

    memset(out->frame, 0, sizeof *out->frame);
    out->interface_index = 0;
    if (link_type == LINK_TYPE_SOCKETCAN)
        return read_record(out->frame, &c, 0, why);
    if (link_type != LINK_TYPE_COOKED_V1 && link_type != LINK_TYPE_COOKED_V2)
        return reject(why, DBR_REJECTION_LINK_TYPE);
    uint16_t protocol = link_type == LINK_TYPE_COOKED_V1 ? read_cooked_v1(out, &c)
                                                         : read_cooked_v2(out, &c);
    if (c.failed)
        return reject(why, DBR_REJECTION_PACKET_SHORT);
    if (protocol == PROTOCOL_CAN_XL)
        return reject(why, DBR_REJECTION_CAN_XL);
    if (protocol != PROTOCOL_CAN && protocol != PROTOCOL_CAN_FD)
        return reject(why, DBR_REJECTION_NOT_CAN);
    c.big_endian = host_big_endian;
    return read_record(out->frame, &c, protocol, why);
}
