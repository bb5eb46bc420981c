/* packets.c - see packets.h. */
#include "farm/packets.h"

#include <string.h>

#include "farm/maths.h"
#include "farm/simulation.h"

#define PGN_CONTROL 60416u
#define PGN_DATA    60160u
#define PRIORITY    7u
#define RTS         16u
#define CTS         17u
#define END         19u

#define PACKET_BYTES 7u
#define GRANT        16u  /* packets at a time; common practice */
#define SPACING_US   4000 /* between packets; common practice */
#define ANSWER_US    3000 /* an answer is due within 200 ms (Tr) */

static size_t packets_of(size_t length)
{
    return (length + PACKET_BYTES - 1) / PACKET_BYTES;
}

/* Bytes 6 to 8 of every control message: the group that it is about. */
static void control(struct farm_sim *sim, struct farm_ecu *ecu, unsigned destination, uint32_t pgn,
                    uint8_t data[8])
{
    data[5] = (uint8_t)pgn;
    data[6] = (uint8_t)(pgn >> 8);
    data[7] = (uint8_t)(pgn >> 16);
    farm_ecu_send(sim, ecu, PRIORITY, PGN_CONTROL, destination, data, ANSWER_US);
}

void farm_sending_start(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_sending *s)
{
    uint8_t data[8] = {RTS, 0, 0, (uint8_t)packets_of(s->length), 0xFF};

    s->on = true;
    farm_put16(data + 1, (uint32_t)s->length);
    control(sim, ecu, s->destination, s->pgn, data);
}

static void send_packet(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_sending *s,
                        size_t packet, int64_t delay_us)
{
    size_t at = (packet - 1) * PACKET_BYTES, left = s->length - at;
    uint8_t data[8];

    memset(data, 0xFF, sizeof data);
    data[0] = (uint8_t)packet;
    memcpy(data + 1, s->data + at, left < PACKET_BYTES ? left : PACKET_BYTES);
    farm_ecu_send(sim, ecu, PRIORITY, PGN_DATA, s->destination, data, delay_us);
}

static bool is_to(const struct farm_ecu *ecu, const struct farm_frame *frame, uint32_t pgn)
{
    return farm_id_group(frame->id) == pgn && farm_id_destination(frame->id) == ecu->design->address;
}

bool farm_sending_hear(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_sending *s,
                       const struct farm_frame *frame)
{
    if (!s->on || !is_to(ecu, frame, PGN_CONTROL) || farm_id_source(frame->id) != s->destination)
        return false;
    if (frame->data[0] == CTS)
        for (unsigned i = 0; i < frame->data[1]; i++)
            send_packet(sim, ecu, s, frame->data[2] + i, ANSWER_US + i * SPACING_US);
    if (frame->data[0] == END)
        s->on = false;
    return frame->data[0] == END;
}

static void grant(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_receiving *r)
{
    size_t left = r->packets - r->next + 1, count = left < GRANT ? left : GRANT;
    uint8_t data[8] = {CTS, (uint8_t)count, (uint8_t)r->next, 0xFF, 0xFF};

    r->window_end = r->next + count - 1;
    control(sim, ecu, r->source, r->pgn, data);
}

static void begin(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_receiving *r,
                  const struct farm_frame *frame)
{
    *r = (struct farm_receiving){.on = true,
                                 .source = farm_id_source(frame->id),
                                 .pgn = farm_get16(frame->data + 5) |
                                        (uint32_t)frame->data[7] << 16,
                                 .length = farm_get16(frame->data + 1),
                                 .packets = frame->data[3],
                                 .next = 1};
    grant(sim, ecu, r);
}

static void end(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_receiving *r)
{
    uint8_t data[8] = {END, 0, 0, (uint8_t)r->packets, 0xFF};

    r->on = false;
    farm_put16(data + 1, (uint32_t)r->length);
    control(sim, ecu, r->source, r->pgn, data);
}

bool farm_receiving_hear(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_receiving *r,
                         const struct farm_frame *frame)
{
    if (is_to(ecu, frame, PGN_CONTROL) && frame->data[0] == RTS)
        begin(sim, ecu, r, frame);
    if (!r->on || !is_to(ecu, frame, PGN_DATA) || farm_id_source(frame->id) != r->source ||
        frame->data[0] != r->next)
        return false;
    r->next++;
    if (r->next > r->packets)
        end(sim, ecu, r);
    else if (r->next > r->window_end)
        grant(sim, ecu, r);
    return !r->on;
}
