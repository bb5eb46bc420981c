/* frame.c - see frame.h. */
#include "farm/frame.h"

#include <string.h>

#define BROADCAST_FORMAT 240u /* PDU format from which on a group has no destination */
#define PGN_MASK         0x3FFFFu

uint32_t farm_id(unsigned priority, uint32_t pgn, unsigned destination, unsigned source)
{
    uint32_t specific = (pgn >> 8 & 0xFFu) < BROADCAST_FORMAT ? destination << 8 : 0;

    return priority << 26 | pgn << 8 | specific | source;
}

static bool has_destination(uint32_t id)
{
    return (id >> 16 & 0xFFu) < BROADCAST_FORMAT;
}

uint32_t farm_id_group(uint32_t id)
{
    uint32_t pgn = id >> 8 & PGN_MASK;

    return has_destination(id) ? pgn & ~0xFFu : pgn;
}

uint8_t farm_id_source(uint32_t id)
{
    return (uint8_t)id;
}

uint8_t farm_id_destination(uint32_t id)
{
    return has_destination(id) ? (uint8_t)(id >> 8) : FARM_GLOBAL;
}

struct farm_frame farm_frame_of(uint32_t id)
{
    struct farm_frame frame = {.id = id, .length = 8};

    memset(frame.data, 0xFF, sizeof frame.data);
    return frame;
}

static void put(uint8_t *at, uint64_t value, unsigned bytes)
{
    for (unsigned i = 0; i < bytes; i++)
        at[i] = (uint8_t)(value >> 8 * i);
}

static uint64_t get(const uint8_t *at, unsigned bytes)
{
    uint64_t value = 0;

    for (unsigned i = 0; i < bytes; i++)
        value |= (uint64_t)at[i] << 8 * i;
    return value;
}

void farm_put16(uint8_t *at, uint32_t value)
{
    put(at, value, 2);
}

void farm_put32(uint8_t *at, uint32_t value)
{
    put(at, value, 4);
}

void farm_put64(uint8_t *at, uint64_t value)
{
    put(at, value, 8);
}

uint32_t farm_get16(const uint8_t *at)
{
    return (uint32_t)get(at, 2);
}

uint32_t farm_get32(const uint8_t *at)
{
    return (uint32_t)get(at, 4);
}

uint64_t farm_get64(const uint8_t *at)
{
    return get(at, 8);
}
