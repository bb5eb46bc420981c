/*
 * write_pcapng.c - one section, an interface description each, an enhanced packet block a frame.
 *
 * Layout: the pcapng specification (IETF opsawg), least significant byte first;
 * packets of link type 227, SocketCAN.
 */
#include <string.h>

#include "writing/writer.h"

#define SECTION_HEADER 0x0A0D0D0Au
#define BYTE_ORDER_MAGIC 0x1A2B3C4Du
#define INTERFACE_DESCRIPTION 1u
#define ENHANCED_PACKET 6u
#define LINK_SOCKETCAN 227u
#define OPTION_END 0u
#define OPTION_FLAGS 2u      /* epb_flags */
#define OPTION_NAME 2u       /* if_name */
#define OPTION_RESOLUTION 9u /* if_tsresol */
#define NANOSECONDS 9u       /* 10^-9 s */
#define OUTBOUND 2u          /* epb_flags, bits 0-1 */

#define BLOCK_FRAME 12u  /* type, length, length again */
#define OPTION_FRAME 4u  /* code, length */
#define SECTION_BODY 16u
#define INTERFACE_BODY 8u
#define PACKET_BODY 20u
#define FLAGS_OPTIONS (OPTION_FRAME + 4u + OPTION_FRAME) /* epb_flags and the end of options */

static uint32_t padded(size_t length)
{
    return ((uint32_t)length + 3u) & ~3u;
}

static void put_padded(struct sink *s, const void *bytes, size_t length)
{
    static const uint8_t zeros[3] = {0};

    sink_write(s, bytes, length);
    sink_write(s, zeros, padded(length) - length);
}

static void put_option(struct sink *s, uint32_t code, const void *value, size_t length)
{
    sink_u16(s, code);
    sink_u16(s, (uint32_t)length);
    put_padded(s, value, length);
}

static void put_section(struct sink *s)
{
    sink_u32(s, SECTION_HEADER);
    sink_u32(s, BLOCK_FRAME + SECTION_BODY);
    sink_u32(s, BYTE_ORDER_MAGIC);
    sink_u16(s, 1); /* version 1.0 */
    sink_u16(s, 0);
    sink_u32(s, UINT32_MAX); /* length of the section, 64 bits: not told */
    sink_u32(s, UINT32_MAX);
    sink_u32(s, BLOCK_FRAME + SECTION_BODY);
}

static void put_interface(struct sink *s, const char *name)
{
    static const uint8_t resolution = NANOSECONDS;
    uint32_t options = OPTION_FRAME + padded(strlen(name)) + OPTION_FRAME + padded(1) + OPTION_FRAME;
    uint32_t total = BLOCK_FRAME + INTERFACE_BODY + options;

    sink_u32(s, INTERFACE_DESCRIPTION);
    sink_u32(s, total);
    sink_u16(s, LINK_SOCKETCAN);
    sink_u16(s, 0);
    sink_u32(s, 0); /* packets of any length */
    put_option(s, OPTION_NAME, name, strlen(name));
    put_option(s, OPTION_RESOLUTION, &resolution, sizeof resolution);
    put_option(s, OPTION_END, NULL, 0);
    sink_u32(s, total);
}

static int begin(struct dbr_writer *w, struct dbr_error *error)
{
    if (w->options.time_base == DBR_TIME_NONE)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "pcapng needs time stamps, which the recording does not have; write "
                             "text");
    put_section(&w->sink);
    for (size_t i = 0; i < w->options.interface_count; i++)
        put_interface(&w->sink, w->options.interfaces[i]);
    return sink_check(&w->sink, error);
}

static int write_frame(struct dbr_writer *w, const struct dbr_frame *frame, int64_t stamp_ns,
                       struct dbr_error *error)
{
    static const uint8_t outbound[4] = {OUTBOUND};
    bool sent = (frame->flags & DBR_FRAME_SENT) != 0;
    struct sink *s = &w->sink;
    uint8_t packet[CAN_RECORD_MAX];
    size_t length = can_record(packet, frame, true);
    uint32_t total = BLOCK_FRAME + PACKET_BODY + padded(length) + (sent ? FLAGS_OPTIONS : 0);

    sink_u32(s, ENHANCED_PACKET);
    sink_u32(s, total);
    sink_u32(s, frame->interface);
    sink_u32(s, (uint32_t)((uint64_t)stamp_ns >> 32));
    sink_u32(s, (uint32_t)stamp_ns);
    sink_u32(s, (uint32_t)length); /* captured, then original */
    sink_u32(s, (uint32_t)length);
    put_padded(s, packet, length);
    if (sent) {
        put_option(s, OPTION_FLAGS, outbound, sizeof outbound);
        put_option(s, OPTION_END, NULL, 0);
    }
    sink_u32(s, total);
    return sink_check(s, error);
}

const struct form form_pcapng = {begin, write_frame};
