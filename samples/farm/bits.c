/* bits.c - see bits.h. Frame format, CRC and stuffing: ISO 11898-1. */
#include "farm/bits.h"

#define CRC_POLYNOMIAL 0x4599u /* x^15 + x^14 + x^10 + x^8 + x^7 + x^4 + x^3 + 1 */
#define CRC_BITS       15u
#define CRC_MASK       0x7FFFu
#define RUN_LIMIT      5 /* after five equal bits the sender inserts an opposite one */

/* CRC delimiter, ACK slot, ACK delimiter and seven bits of end of frame are never stuffed. */
#define UNSTUFFED_TAIL 10

struct encoder {
    int bits; /* sent so far, stuff bits included */
    unsigned last;
    int run; /* equal bits in a row */
    unsigned crc;
};

static void send_bit(struct encoder *e, unsigned bit)
{
    e->run = e->bits > 0 && bit == e->last ? e->run + 1 : 1;
    e->last = bit;
    e->bits++;
    if (e->run == RUN_LIMIT) {
        e->last = !bit;
        e->run = 1; /* the stuff bit begins the next run */
        e->bits++;
    }
}

static void send_counted_bit(struct encoder *e, unsigned bit)
{
    unsigned feedback = bit ^ (e->crc >> (CRC_BITS - 1) & 1u);

    e->crc = (e->crc << 1 & CRC_MASK) ^ (feedback ? CRC_POLYNOMIAL : 0u);
    send_bit(e, bit);
}

static void send_field(struct encoder *e, uint32_t value, unsigned width)
{
    while (width-- > 0)
        send_counted_bit(e, value >> width & 1u);
}

int farm_frame_bits(const struct farm_frame *frame)
{
    struct encoder e = {0};

    send_field(&e, 0, 1);                     /* start of frame */
    send_field(&e, frame->id >> 18, 11);      /* base identifier */
    send_field(&e, 3, 2);                     /* SRR and IDE, recessive */
    send_field(&e, frame->id & 0x3FFFFu, 18); /* identifier extension */
    send_field(&e, 0, 3);                     /* RTR, r1, r0 */
    send_field(&e, frame->length, 4);
    for (unsigned i = 0; i < frame->length; i++)
        send_field(&e, frame->data[i], 8);
    for (unsigned i = CRC_BITS; i-- > 0;)
        send_bit(&e, e.crc >> i & 1u);
    return e.bits + UNSTUFFED_TAIL;
}
