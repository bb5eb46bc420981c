/*
 * write_pcap.c - a classic capture file with nanosecond stamps, least significant byte first.
 *
 * Link type 227 (SocketCAN), or 113 (Linux cooked) where frames tell their
 * direction, which 227 cannot hold. Layout: the capture file form as libpcap reads it.
 */
#include "writing/writer.h"

#define MAGIC_NANOSECONDS 0xA1B23C4Du
#define SNAPLEN 65535u
#define LINK_SOCKETCAN 227u
#define LINK_COOKED 113u

#define COOKED_HEADER 16u
#define COOKED_RECEIVED 1u /* packet types of cooked captures; 1 is broadcast, as CAN frames are */
#define COOKED_SENT 4u
#define HARDWARE_CAN 280u /* linux/if_arp.h */
#define PROTOCOL_CAN 0x000Cu /* linux/if_ether.h */
#define PROTOCOL_CAN_FD 0x000Du

#define NS_PER_S INT64_C(1000000000)

static int begin(struct dbr_writer *w, struct dbr_error *error)
{
    if (w->options.time_base == DBR_TIME_NONE)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "pcap needs time stamps, which the recording does not have; write text");
    if (w->options.interface_count > 1)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "pcap holds one interface, the recording has %zu; write pcapng, or "
                             "choose one",
                             w->options.interface_count);
    sink_u32(&w->sink, MAGIC_NANOSECONDS);
    sink_u16(&w->sink, 2); /* version 2.4 */
    sink_u16(&w->sink, 4);
    sink_u32(&w->sink, 0);
    sink_u32(&w->sink, 0);
    sink_u32(&w->sink, SNAPLEN);
    sink_u32(&w->sink, w->options.directions ? LINK_COOKED : LINK_SOCKETCAN);
    return sink_check(&w->sink, error);
}

static void put_u16(uint8_t *at, uint32_t value)
{
    at[0] = (uint8_t)(value >> 8);
    at[1] = (uint8_t)value;
}

/* type(2) hardware(2) address length(2) address(8) protocol(2), big-endian. */
static void put_cooked(uint8_t out[COOKED_HEADER], const struct dbr_frame *frame)
{
    for (unsigned i = 0; i < COOKED_HEADER; i++)
        out[i] = 0;
    put_u16(out, frame->flags & DBR_FRAME_SENT ? COOKED_SENT : COOKED_RECEIVED);
    put_u16(out + 2, HARDWARE_CAN);
    put_u16(out + 14, frame->flags & DBR_FRAME_FD ? PROTOCOL_CAN_FD : PROTOCOL_CAN);
}

static int write_frame(struct dbr_writer *w, const struct dbr_frame *frame, int64_t stamp_ns,
                       struct dbr_error *error)
{
    uint8_t packet[COOKED_HEADER + CAN_RECORD_MAX];
    size_t header = w->options.directions ? COOKED_HEADER : 0;

    if (stamp_ns / NS_PER_S > UINT32_MAX)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "pcap cannot hold a time after the year 2106; write text or pcapng");
    if (w->options.directions)
        put_cooked(packet, frame);
    size_t length = header + can_record(packet + header, frame, !w->options.directions);
    sink_u32(&w->sink, (uint32_t)(stamp_ns / NS_PER_S));
    sink_u32(&w->sink, (uint32_t)(stamp_ns % NS_PER_S));
    sink_u32(&w->sink, (uint32_t)length); /* captured, then original */
    sink_u32(&w->sink, (uint32_t)length);
    sink_write(&w->sink, packet, length);
    return sink_check(&w->sink, error);
}

const struct form form_pcap = {begin, write_frame};
