/* wire.c - see wire.h. ISO 11898-1: arbitration, frame format, stuffing; 250 kbit/s. */
#include "wire.h"

#define BIT_US 4
#define TRAILER_BITS 10 /* CRC delimiter, ACK slot and delimiter, end of frame */
#define INTERMISSION_BITS 3

/* Appends bits, highest first, to a row of 0 and 1. */
static size_t append(uint8_t *row, size_t count, uint32_t value, unsigned bits)
{
    while (bits-- > 0)
        row[count++] = value >> bits & 1u;
    return count;
}

static uint32_t crc15(const uint8_t *row, size_t count)
{
    uint32_t crc = 0;

    for (size_t i = 0; i < count; i++) {
        crc = crc << 1 ^ (uint32_t)row[i] << 15;
        if (crc & 0x8000u)
            crc ^= 0x4599u;
        crc &= 0x7FFFu;
    }
    return crc;
}

/* How many bits a row grows to with a bit of the other kind after five equal ones. */
static unsigned stuffed(const uint8_t *row, size_t count)
{
    unsigned total = 0, run = 0;
    uint8_t last = 2;

    for (size_t i = 0; i < count; i++) {
        run = row[i] == last ? run + 1 : 1;
        last = row[i];
        total++;
        if (run == 5) {
            total++;
            last = (uint8_t)!last;
            run = 1;
        }
    }
    return total;
}

static unsigned frame_bits(const struct wire_frame *f)
{
    uint8_t row[160];
    size_t count = append(row, 0, 0, 1);

    count = append(row, count, f->id >> 18, 11);
    count = append(row, count, 3, 2);
    count = append(row, count, f->id & 0x3FFFFu, 18);
    count = append(row, count, 0, 3);
    count = append(row, count, f->length, 4);
    for (unsigned i = 0; i < f->length; i++)
        count = append(row, count, f->data[i], 8);
    count = append(row, count, crc15(row, count), 15);
    return stuffed(row, count) + TRAILER_BITS;
}

bool wire_offer(struct wire *w, const struct wire_frame *frame)
{
    if (w->waiting_count == WIRE_WAITING)
        return false;
    w->waiting[w->waiting_count++] = *frame;
    return true;
}

int64_t wire_next_us(const struct wire *w)
{
    int64_t ready = INT64_MAX;

    for (size_t i = 0; i < w->waiting_count; i++)
        if (w->waiting[i].at_us < ready)
            ready = w->waiting[i].at_us;
    return ready < w->free_us ? w->free_us : ready;
}

struct wire_frame wire_send(struct wire *w)
{
    int64_t begin = wire_next_us(w);
    size_t best = w->waiting_count;

    for (size_t i = 0; i < w->waiting_count; i++)
        if (w->waiting[i].at_us <= begin &&
            (best == w->waiting_count || w->waiting[i].id < w->waiting[best].id))
            best = i;
    struct wire_frame frame = w->waiting[best];
    w->waiting[best] = w->waiting[--w->waiting_count];
    frame.at_us = begin + (int64_t)frame_bits(&frame) * BIT_US;
    w->free_us = frame.at_us + INTERMISSION_BITS * BIT_US;
    return frame;
}
