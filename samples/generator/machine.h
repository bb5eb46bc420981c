/*
 * machine.h - the ECUs of the invented farm: who they are, what they send, and when.
 */
#ifndef SAMPLES_MACHINE_H
#define SAMPLES_MACHINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "world.h"

#define ADDRESS_NULL 254u
#define ADDRESS_ALL 255u
#define ADDRESS_ENGINE 0u
#define ADDRESS_GNSS 28u
#define ADDRESS_SPREADER 128u
#define ADDRESS_WEIGHER 131u
#define ADDRESS_LEFT_BOOM 140u
#define ADDRESS_RIGHT_BOOM 141u
#define ADDRESS_TRACTOR 240u
#define ADDRESS_CONTROLLER 247u

struct ecu_kind {
    uint8_t address;
    uint64_t name; /* manufacturer code 2047, which is nobody's */
    double power_on_s;
    const char *words;
};

extern const struct ecu_kind ecu_kinds[];
extern const size_t ecu_kind_count;

/* The unit that comes later, in scenarios with a newcomer. */
#define NEWCOMER_NAME UINT64_C(0x200A8200FFE00001)
#define NEWCOMER_PGN 65310u

/* Writes the eight data bytes of a message as the world is now. */
typedef void message_fill(const struct world *w, uint32_t count, uint8_t data[8]);

struct message_kind {
    uint8_t sender, destination;
    uint8_t priority;
    uint32_t pgn;
    double period_s;
    double after_s; /* first sent so long after its sender is on the bus */
    message_fill *fill;
    bool axle;      /* the message with the axle speed */
};

extern const struct message_kind message_kinds[];
extern const size_t message_kind_count;

/* A 29-bit identifier (ISO 11783-3). */
uint32_t machine_id(uint8_t priority, uint32_t pgn, uint8_t destination, uint8_t source);

/* The connection of the spreader to the task controller, step by step (ISO 11783-10 annex F). */
struct dialogue_step {
    double after_s; /* after the spreader is on the bus */
    uint8_t sender, destination;
    uint8_t priority;
    uint32_t pgn;
    uint8_t data[8];
};

extern const struct dialogue_step dialogue[];
extern const size_t dialogue_count;

#endif
