/*
 * can_packet.h - the CAN frame inside a captured packet.
 *
 * Link types (registry of the capture file format): 227 SocketCAN, 113 Linux
 * cooked v1, 276 Linux cooked v2. The two cooked headers carry protocol 0x000C
 * (classical CAN) or 0x000D (CAN FD) and then the same SocketCAN record, but
 * with its identifier in the byte order of the host that wrote the file.
 */
#ifndef DRAWBAR_READING_CAN_PACKET_H
#define DRAWBAR_READING_CAN_PACKET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/frame.h"
#include "drawbar/reading.h"

#define LINK_TYPE_SOCKETCAN 227
#define LINK_TYPE_COOKED_V1 113
#define LINK_TYPE_COOKED_V2 276

/* Whether a frame can have so many bytes: 0..8, then the steps of CAN FD (ISO 11898-1). */
bool can_length_valid(size_t length);

struct can_packet {
    struct dbr_frame *frame; /* set by the caller, to be filled: all but time and interface */
    uint32_t interface_index; /* of cooked v2; 0 where the packet names none */
};

/*
 * Reads a packet of `length` captured bytes. `host_big_endian` is the byte order
 * of the writing host, for cooked packets. Returns false and sets `*why` where
 * it holds no frame that can be read; what stands in the frame then means nothing.
 */
bool can_packet_read(struct can_packet *out, int link_type, bool host_big_endian,
                     const uint8_t *bytes, size_t length, enum dbr_rejection *why);

#endif
