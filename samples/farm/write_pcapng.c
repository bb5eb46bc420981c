/*
 * write_pcapng.c - one section, one interface, one enhanced packet block a frame.
 *
 * Layout: the pcapng specification (IETF opsawg), least significant byte first;
 * packets of link type 227, SocketCAN: identifier most significant byte first,
 * length, flags, two reserved bytes, payload.
 */
#include <string.h>

#include "farm/maths.h"
#include "farm/writers.h"

#define SECTION_HEADER        0x0A0D0D0Au
#define BYTE_ORDER_MAGIC      0x1A2B3C4Du
#define INTERFACE_DESCRIPTION 1u
#define ENHANCED_PACKET       6u
#define LINKTYPE_SOCKETCAN    227u
#define OPTION_END            0u
#define OPTION_NAME           2u /* if_name */
#define OPTION_RESOLUTION     9u /* if_tsresol */
#define NANOSECONDS           9u /* 10^-9 s */

#define EXTENDED_FLAG  0x80000000u /* linux/can.h */
#define ERROR_FLAG     0x20000000u
#define CAN_HEADER     8u
#define CAN_RECORD_MAX (CAN_HEADER + 8u)

static void pad(struct farm_bytes *out, size_t length)
{
    static const uint8_t zeros[4] = {0};

    farm_bytes_add(out, zeros, (4 - length % 4) % 4);
}

static void add_block(struct farm_bytes *out, uint32_t type, const struct farm_bytes *body)
{
    uint32_t total = (uint32_t)body->length + 12u;

    farm_bytes_add32(out, type);
    farm_bytes_add32(out, total);
    farm_bytes_add(out, body->data, body->length);
    farm_bytes_add32(out, total);
    out->failed = out->failed || body->failed;
}

static void add_option(struct farm_bytes *body, uint32_t code, const void *value, size_t length)
{
    farm_bytes_add16(body, code);
    farm_bytes_add16(body, (uint32_t)length);
    farm_bytes_add(body, value, length);
    pad(body, length);
}

static void add_section(struct farm_bytes *out, struct farm_bytes *body)
{
    body->length = 0;
    farm_bytes_add32(body, BYTE_ORDER_MAGIC);
    farm_bytes_add16(body, 1); /* version 1.0 */
    farm_bytes_add16(body, 0);
    farm_bytes_add32(body, UINT32_MAX); /* length of the section, 64 bits: not told */
    farm_bytes_add32(body, UINT32_MAX);
    add_block(out, SECTION_HEADER, body);
}

static void add_interface(struct farm_bytes *out, struct farm_bytes *body)
{
    static const uint8_t resolution = NANOSECONDS;

    body->length = 0;
    farm_bytes_add16(body, LINKTYPE_SOCKETCAN);
    farm_bytes_add16(body, 0);
    farm_bytes_add32(body, CAN_RECORD_MAX); /* snapshot length */
    add_option(body, OPTION_NAME, FARM_INTERFACE, strlen(FARM_INTERFACE));
    add_option(body, OPTION_RESOLUTION, &resolution, sizeof resolution);
    add_option(body, OPTION_END, NULL, 0);
    add_block(out, INTERFACE_DESCRIPTION, body);
}

static size_t pack_frame(const struct farm_frame *f, uint8_t packet[CAN_RECORD_MAX])
{
    uint32_t id = f->id | (f->error ? ERROR_FLAG : EXTENDED_FLAG);

    memset(packet, 0, CAN_RECORD_MAX);
    for (unsigned i = 0; i < 4; i++)
        packet[i] = (uint8_t)(id >> (24 - 8 * i));
    packet[4] = f->length;
    memcpy(packet + CAN_HEADER, f->data, f->length);
    return CAN_HEADER + f->length;
}

static void add_packet(struct farm_bytes *out, struct farm_bytes *body,
                       const struct farm_record *record)
{
    uint8_t packet[CAN_RECORD_MAX];
    size_t length = pack_frame(&record->frame, packet);
    uint64_t stamp = (uint64_t)(FARM_EPOCH_S * FARM_NS_PER_S + record->at_ns);

    body->length = 0;
    farm_bytes_add32(body, 0); /* interface */
    farm_bytes_add32(body, (uint32_t)(stamp >> 32));
    farm_bytes_add32(body, (uint32_t)stamp);
    farm_bytes_add32(body, (uint32_t)length); /* captured, then original */
    farm_bytes_add32(body, (uint32_t)length);
    farm_bytes_add(body, packet, length);
    pad(body, length);
    add_block(out, ENHANCED_PACKET, body);
}

void farm_write_pcapng(const struct farm_recording *r, struct farm_bytes *out)
{
    struct farm_bytes body = {0};

    add_section(out, &body);
    add_interface(out, &body);
    for (size_t i = 0; i < r->count; i++)
        add_packet(out, &body, &r->items[i]);
    farm_bytes_release(&body);
}
