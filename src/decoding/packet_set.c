/* packet_set.c - see packet_set.h. */
#include "decoding/packet_set.h"

#include <string.h>

#define WORDS (PACKET_SPAN / 64)

static bool bit_at(const struct packet_set *set, uint32_t i)
{
    return set->beyond[i / 64] >> i % 64 & 1u;
}

static void put_bit(struct packet_set *set, uint32_t i)
{
    set->beyond[i / 64] |= UINT64_C(1) << i % 64;
}

static void clear_bit(struct packet_set *set, uint32_t i)
{
    set->beyond[i / 64] &= ~(UINT64_C(1) << i % 64);
}

/* Towards bit 0, by one. */
static void shift_down(struct packet_set *set)
{
    for (size_t w = 0; w < WORDS; w++)
        set->beyond[w] = set->beyond[w] >> 1 | (w + 1 < WORDS ? set->beyond[w + 1] << 63 : 0);
}

static void advance(struct packet_set *set)
{
    while (bit_at(set, 0)) {
        shift_down(set);
        set->solid++;
    }
}

bool packet_set_has(const struct packet_set *set, uint32_t packet)
{
    if (packet <= set->solid)
        return true;
    return packet - set->solid <= PACKET_SPAN && bit_at(set, packet - set->solid - 1);
}

void packet_set_add(struct packet_set *set, uint32_t packet)
{
    if (packet <= set->solid)
        return;
    if (packet - set->solid > PACKET_SPAN) {
        if (set->lost_from == 0)
            set->lost_from = set->solid + 1;
        return;
    }
    put_bit(set, packet - set->solid - 1);
    advance(set);
}

/* Takes the solid part back to `solid`: what lay between has come, as far as there is room. */
static void retreat(struct packet_set *set, uint32_t solid)
{
    struct packet_set old = *set;

    memset(set->beyond, 0, sizeof set->beyond);
    set->solid = solid;
    for (uint32_t i = 0; i < PACKET_SPAN; i++)
        if (packet_set_has(&old, solid + 1 + i))
            put_bit(set, i);
}

static uint32_t total(const struct packet_set *set)
{
    uint32_t sum = set->solid;

    for (uint32_t i = 0; i < PACKET_SPAN; i++)
        sum += bit_at(set, i);
    return sum;
}

uint32_t packet_set_reopen(struct packet_set *set, uint32_t first, uint32_t count)
{
    uint32_t before = total(set);

    if (first <= set->solid)
        retreat(set, first - 1);
    if (first <= set->lost_from)
        set->lost_from = 0;
    for (uint32_t i = first - 1 - set->solid; i < PACKET_SPAN && count > 0; i++, count--)
        clear_bit(set, i);
    return before - total(set);
}

uint32_t packet_set_missing(const struct packet_set *set, uint32_t packets)
{
    if (set->lost_from != 0)
        return set->lost_from;
    return set->solid < packets ? set->solid + 1 : 0;
}
