/* transfers.c - see transfers.h. */
#include "support/transfers.h"

#include <string.h>

#include "drawbar/can_id.h"

#define TP_CONTROL 60416u
#define TP_DATA 60160u
#define ETP_CONTROL 51200u
#define ETP_DATA 50944u

static void send(struct story *s, double at, uint32_t id, const uint8_t data[8])
{
    struct dbr_frame frame = {
        .at_ns = (int64_t)(at * 1e9), .id = id, .flags = DBR_FRAME_EXTENDED, .length = 8};

    memcpy(frame.data, data, 8);
    story_raw(s, &frame);
}

static void send_control(struct story *s, double at, uint32_t group, uint8_t from, uint8_t to,
                         const uint8_t head[5], uint32_t pgn)
{
    uint8_t data[8];

    memcpy(data, head, 5);
    for (unsigned i = 0; i < 3; i++)
        data[5 + i] = (uint8_t)(pgn >> 8 * i);
    send(s, at, story_id(7, group, to, from), data);
}

/* Packet `number` (from 1) of the payload, as number `sequence`. */
static void send_packet(struct story *s, double at, uint32_t id, uint8_t sequence,
                        const uint8_t *data, size_t length, size_t number)
{
    uint8_t packet[8] = {sequence, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};
    size_t from = 7 * (number - 1);

    memcpy(packet + 1, data + from, length - from < 7 ? length - from : 7);
    send(s, at, id, packet);
}

static uint8_t packets_of(size_t length)
{
    return (uint8_t)((length + 6) / 7);
}

void story_payload(struct story *s, double at, uint8_t source, uint32_t pgn, const void *data,
                   size_t length)
{
    if (length <= 8) {
        struct dbr_frame frame = {.at_ns = (int64_t)(at * 1e9),
                                  .id = story_id(6, pgn, DBR_ADDRESS_GLOBAL, source),
                                  .flags = DBR_FRAME_EXTENDED,
                                  .length = (uint8_t)length};
        memcpy(frame.data, data, length);
        story_raw(s, &frame);
        return;
    }
    const uint8_t head[5] = {0x20, (uint8_t)length, (uint8_t)(length >> 8), packets_of(length),
                             0xFF};
    send_control(s, at, TP_CONTROL, source, DBR_ADDRESS_GLOBAL, head, pgn);
    for (unsigned i = 1; i <= packets_of(length); i++)
        send_packet(s, at + 0.05 * i, story_id(7, TP_DATA, DBR_ADDRESS_GLOBAL, source), (uint8_t)i,
                    data, length, i);
}

void story_text(struct story *s, double at, uint8_t source, uint32_t pgn, const char *text)
{
    story_payload(s, at, source, pgn, text, strlen(text));
}

void story_connection(struct story *s, double at, uint8_t source, uint8_t destination,
                      uint32_t pgn, const void *data, size_t length)
{
    uint8_t low = (uint8_t)length, high = (uint8_t)(length >> 8), count = packets_of(length);

    send_control(s, at, TP_CONTROL, source, destination,
                 (const uint8_t[5]){0x10, low, high, count, 0xFF}, pgn);
    send_control(s, at + 0.01, TP_CONTROL, destination, source,
                 (const uint8_t[5]){0x11, count, 1, 0xFF, 0xFF}, pgn);
    for (unsigned i = 1; i <= count; i++)
        send_packet(s, at + 0.01 + 0.005 * i, story_id(7, TP_DATA, destination, source),
                    (uint8_t)i, data, length, i);
    send_control(s, at + 0.02 + 0.005 * count, TP_CONTROL, destination, source,
                 (const uint8_t[5]){0x13, low, high, count, 0xFF}, pgn);
}

void story_extended(struct story *s, double at, uint8_t source, uint8_t destination, uint32_t pgn,
                    const void *data, size_t length)
{
    const uint8_t size[5] = {0x14, (uint8_t)length, (uint8_t)(length >> 8),
                             (uint8_t)(length >> 16), (uint8_t)(length >> 24)};
    size_t packets = (length + 6) / 7;
    uint8_t end[5] = {0x17};

    send_control(s, at, ETP_CONTROL, source, destination, size, pgn);
    for (size_t done = 0; done < packets;) {
        size_t count = packets - done < 255 ? packets - done : 255, next = done + 1;
        at += 0.002;
        send_control(s, at, ETP_CONTROL, destination, source,
                     (const uint8_t[5]){0x15, (uint8_t)count, (uint8_t)next, (uint8_t)(next >> 8),
                                        (uint8_t)(next >> 16)},
                     pgn);
        at += 0.002;
        send_control(s, at, ETP_CONTROL, source, destination,
                     (const uint8_t[5]){0x16, (uint8_t)count, (uint8_t)done, (uint8_t)(done >> 8),
                                        (uint8_t)(done >> 16)},
                     pgn);
        for (size_t i = 1; i <= count; i++) {
            at += 0.001;
            send_packet(s, at, story_id(7, ETP_DATA, destination, source), (uint8_t)i, data,
                        length, done + i);
        }
        done += count;
    }
    memcpy(end + 1, size + 1, 4);
    send_control(s, at + 0.002, ETP_CONTROL, destination, source, end, pgn);
}

void story_fast(struct story *s, double at, uint8_t source, uint32_t pgn, const void *data,
                size_t length)
{
    const uint8_t *bytes = data;
    uint8_t frame[8] = {0, (uint8_t)length};
    uint32_t id = story_id(6, pgn, DBR_ADDRESS_GLOBAL, source);
    size_t used = length < 6 ? length : 6;

    memcpy(frame + 2, bytes, used);
    send(s, at, id, frame);
    for (uint8_t number = 1; used < length; number++) {
        size_t count = length - used < 7 ? length - used : 7;
        memset(frame, 0xFF, sizeof frame);
        frame[0] = number;
        memcpy(frame + 1, bytes + used, count);
        send(s, at + 0.001 * number, id, frame);
        used += count;
    }
}
