/* packed.c - see packed.h. */
#include "fuzz/packed.h"

#include <string.h>

#define US INT64_C(1000)
#define MS (1000 * US)
#define S (1000 * MS)

static const int64_t units[8] = {100 * US, MS, 10 * MS, 100 * MS, S, 60 * S, 3600 * S, 86400 * S};
static const uint8_t fd_lengths[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64};

#define BIT_STANDARD 0x01u
#define BIT_RAW_DLC 0x20u
#define RAW_DLC_MIN 9u

uint8_t packed_head(const uint8_t *data, size_t size, size_t index)
{
    return size > index ? data[index] : 0;
}

static uint32_t get_id(const uint8_t *at)
{
    return (uint32_t)at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}

/* Flags that go together, as the readers give them: an error frame is nothing else, and there
 * are no remote FD frames. */
static uint8_t sound_flags(uint8_t bits)
{
    const uint8_t fd_bits = DBR_FRAME_FD | DBR_FRAME_BRS | DBR_FRAME_ESI;
    uint8_t flags = bits & (uint8_t) ~(DBR_FRAME_EXTENDED | DBR_FRAME_COPY);

    if (flags & DBR_FRAME_ERROR)
        return flags & (DBR_FRAME_ERROR | DBR_FRAME_SENT);
    flags |= bits & BIT_STANDARD ? 0 : DBR_FRAME_EXTENDED;
    if ((flags & DBR_FRAME_REMOTE) || !(flags & DBR_FRAME_FD))
        flags &= (uint8_t)~fd_bits;
    return flags;
}

static void read_frame(struct dbr_frame *frame, const uint8_t *at)
{
    uint32_t id_max = DBR_EXTENDED_ID_MAX;

    *frame = (struct dbr_frame){.flags = sound_flags(at[3]), .interface = (at[1] >> 3) % 4};
    if (!(frame->flags & (DBR_FRAME_EXTENDED | DBR_FRAME_ERROR)))
        id_max = DBR_STANDARD_ID_MAX;
    frame->id = get_id(at + 4) & id_max;
    frame->length = frame->flags & DBR_FRAME_FD ? fd_lengths[at[2] % sizeof fd_lengths] : at[2] % 9;
    if (frame->length == 8 && !(frame->flags & (DBR_FRAME_FD | DBR_FRAME_ERROR)) &&
        (at[1] & BIT_RAW_DLC))
        frame->raw_dlc = (uint8_t)(RAW_DLC_MIN + at[8] % 7);
    for (size_t i = 0; i < frame->length && !(frame->flags & DBR_FRAME_REMOTE); i++)
        frame->data[i] = (uint8_t)(at[8 + i % 8] + i / 8);
}

size_t packed_frames(struct dbr_frame *frames, const uint8_t *data, size_t size)
{
    const int64_t latest_ns = INT64_MAX / 8;
    size_t count = size < PACKED_HEAD ? 0 : (size - PACKED_HEAD) / PACKED_FRAME;
    int64_t now = 0;

    count = count < PACKED_FRAMES_MAX ? count : PACKED_FRAMES_MAX;
    for (size_t i = 0; i < count; i++) {
        const uint8_t *at = data + PACKED_HEAD + i * PACKED_FRAME;
        read_frame(&frames[i], at);
        if (i > 0)
            now += at[0] * units[at[1] % 8];
        now = now < latest_ns ? now : latest_ns;
        frames[i].at_ns = now;
    }
    return count;
}

void packed_put(uint8_t out[PACKED_FRAME], const struct dbr_frame *frame, int64_t pause_ns)
{
    size_t unit = 0, length = frame->length;

    while (unit < 7 && pause_ns / units[unit] > 255)
        unit++;
    for (size_t i = 0; (frame->flags & DBR_FRAME_FD) && i < sizeof fd_lengths; i++)
        if (fd_lengths[i] == frame->length)
            length = i;
    out[0] = (uint8_t)(pause_ns / units[unit]);
    out[1] = (uint8_t)(unit | (frame->interface % PACKED_INTERFACES) << 3);
    out[2] = (uint8_t)length;
    out[3] = (uint8_t)(frame->flags ^ DBR_FRAME_EXTENDED);
    for (size_t i = 0; i < 4; i++)
        out[4 + i] = (uint8_t)(frame->id >> 8 * i);
    memcpy(out + 8, frame->data, 8);
}

/* Groups that somebody listens for: requests, claims, transfers, process data, speeds, codes. */
static const uint32_t groups[] = {59904, 60928, 60416, 60160, 51200, 50944, 51968, 65096, 65097,
                                  129029, 65226, 65227, 65132, 65037, 65036, 61444, 65272, 65271,
                                  65265, 65259, 65260, 64965, 61184, 126996, 64514, 130306, 59392};

/* Keeps the priority and the ends that fit the group. */
static void change_group(uint8_t *frame, unsigned seed)
{
    uint32_t id = get_id(frame + 4), group = groups[seed % (sizeof groups / sizeof groups[0])];
    bool to_one = (group >> 8 & 0xFFu) < 240;

    id = (id & 0x1C0000FFu) | group << 8 | (to_one ? id & 0xFF00u : 0);
    for (size_t i = 0; i < 4; i++)
        frame[4 + i] = (uint8_t)(id >> 8 * i);
    frame[3] &= (uint8_t) ~(BIT_STANDARD | DBR_FRAME_REMOTE | DBR_FRAME_ERROR | DBR_FRAME_FD);
}

/* The ends of the conversation change places, as in an answer. */
static void turn_round(uint8_t *frame)
{
    uint8_t source = frame[4];

    frame[4] = frame[5];
    frame[5] = source;
}

/* Frame `from` again in front of frame `to`, `copies` times. */
static size_t insert(uint8_t *frames, size_t count, size_t most, size_t from, size_t to,
                     size_t copies)
{
    uint8_t one[PACKED_FRAME];

    copies = copies < most - count ? copies : most - count;
    memcpy(one, frames + from * PACKED_FRAME, PACKED_FRAME);
    memmove(frames + (to + copies) * PACKED_FRAME, frames + to * PACKED_FRAME,
            (count - to) * PACKED_FRAME);
    for (size_t i = 0; i < copies; i++)
        memcpy(frames + (to + i) * PACKED_FRAME, one, PACKED_FRAME);
    return count + copies;
}

static size_t take_out(uint8_t *frames, size_t count, size_t at, size_t how_many)
{
    how_many = how_many < count - at ? how_many : count - at;
    memmove(frames + at * PACKED_FRAME, frames + (at + how_many) * PACKED_FRAME,
            (count - at - how_many) * PACKED_FRAME);
    return count - how_many;
}

static void change_bytes(uint8_t *at, size_t length, bytes_mutator *bytes)
{
    size_t left = bytes(at, length, length);

    memset(at + left, 0, length - left);
}

size_t packed_mutate(uint8_t *data, size_t size, size_t room, unsigned seed, bytes_mutator *bytes)
{
    uint8_t *frames = data + PACKED_HEAD;

    if (size < PACKED_HEAD + PACKED_FRAME)
        return bytes(data, size, room);
    size_t count = (size - PACKED_HEAD) / PACKED_FRAME;
    size_t most = (room - PACKED_HEAD) / PACKED_FRAME;
    size_t a = seed / 16 % count, b = seed / 16 / count % count;
    switch (seed % 16) {
    case 0:
        change_bytes(data, PACKED_HEAD, bytes);
        break;
    case 1:
    case 2:
        count = insert(frames, count, most, a, b, 1);
        break;
    case 3:
        count = insert(frames, count, most, a, b, 2 + seed / 16 % 61);
        break;
    case 4:
        count = take_out(frames, count, a, 1);
        break;
    case 5:
        count = take_out(frames, count, a, 1 + b);
        break;
    case 6:
        change_group(frames + a * PACKED_FRAME, seed / 16);
        break;
    case 7:
        turn_round(frames + a * PACKED_FRAME);
        break;
    case 8: /* time and kind alone */
        change_bytes(frames + a * PACKED_FRAME, 4, bytes);
        break;
    case 9: /* data alone */
    case 10:
    case 11:
        change_bytes(frames + a * PACKED_FRAME + 8, 8, bytes);
        break;
    default:
        change_bytes(frames + a * PACKED_FRAME, PACKED_FRAME, bytes);
        break;
    }
    return PACKED_HEAD + count * PACKED_FRAME;
}
