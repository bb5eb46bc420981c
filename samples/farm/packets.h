/*
 * packets.h - a message of more than 8 bytes to one receiver (SAE J1939-21 5.10, TP).
 *
 * The originator asks (RTS), the receiver grants some packets at a time (CTS) and says in the
 * end that it has all. Nothing is lost on this bus, so nothing is asked for twice.
 */
#ifndef FARM_PACKETS_H
#define FARM_PACKETS_H

#include "farm/ecu.h"

#define FARM_PACKETS_BYTES_MAX 1785u /* bytes: 255 packets of 7 */

struct farm_sending {
    bool on;
    unsigned destination;
    uint32_t pgn;
    size_t length;
    uint8_t data[FARM_PACKETS_BYTES_MAX];
};

struct farm_receiving {
    bool on;
    uint8_t source;
    uint32_t pgn;
    size_t length, packets;
    size_t next;       /* packet that is due, from 1 */
    size_t window_end; /* last packet that was granted */
};

/* Asks to send what `s` holds. */
void farm_sending_start(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_sending *s);

/* Hears the receiver. True: it has all. */
bool farm_sending_hear(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_sending *s,
                       const struct farm_frame *frame);

/* Hears an originator. True: the message is whole. */
bool farm_receiving_hear(struct farm_sim *sim, struct farm_ecu *ecu, struct farm_receiving *r,
                         const struct farm_frame *frame);

#endif
