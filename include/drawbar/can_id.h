/*
 * can_id.h - what a 29-bit identifier says: priority, parameter group, addresses.
 *
 * Source: SAE J1939-21 5.2 (protocol data unit fields), ISO 11783-3 5.2; bit
 * positions as in the Linux kernel's J1939 documentation. Bits count from 0.
 */
#ifndef DRAWBAR_CAN_ID_H
#define DRAWBAR_CAN_ID_H

#include <stdbool.h>
#include <stdint.h>

#include "drawbar/api.h"

DBR_API_BEGIN

#define DBR_ADDRESS_GLOBAL 255u /* destination "everyone" (J1939-81 4.1) */
#define DBR_ADDRESS_NULL 254u   /* source of a node without an address (J1939-81 4.1) */
#define DBR_PDU2_FORMAT_MIN 240u /* PDU format from which on a group is a broadcast (J1939-21 5.2.3) */
#define DBR_PGN_MAX 0x3FFFFu    /* 18 bits: extended data page, data page, PF, PS */

/* Parameter groups that the program itself acts on. All others are data in decoders/. */
#define DBR_PGN_PROCESS_DATA 51968u    /* 0xCB00, ISO 11783-10 */
#define DBR_PGN_ACKNOWLEDGE 59392u     /* 0xE800, J1939-21 5.4.4 */
#define DBR_PGN_EXTENDED_DATA 50944u   /* 0xC700, ISO 11783-3 5.12 */
#define DBR_PGN_EXTENDED_CONTROL 51200u /* 0xC800, ISO 11783-3 5.12 */
#define DBR_PGN_REQUEST 59904u         /* 0xEA00, J1939-21 5.4.2 */
#define DBR_PGN_TRANSPORT_DATA 60160u  /* 0xEB00, J1939-21 5.10 */
#define DBR_PGN_TRANSPORT_CONTROL 60416u /* 0xEC00, J1939-21 5.10 */
#define DBR_PGN_ADDRESS_CLAIMED 60928u /* 0xEE00, J1939-81 4.2.2 */

struct dbr_can_id {
    uint8_t priority;    /* 0 (most urgent) .. 7 */
    uint32_t pgn;        /* 18 bits; the low byte is 0 in PDU1 */
    uint8_t source;      /* source address */
    uint8_t destination; /* PDU1: destination address; PDU2: DBR_ADDRESS_GLOBAL */
    bool broadcast;      /* PDU2: the group has no destination in the identifier */
};

/* Whether messages of a group go to everyone (PDU2), or each to a destination (PDU1). */
static inline bool dbr_pgn_is_broadcast(uint32_t pgn)
{
    return (pgn >> 8 & 0xFFu) >= DBR_PDU2_FORMAT_MIN;
}

/* Splits a 29-bit identifier; higher bits are ignored. */
struct dbr_can_id dbr_can_id_split(uint32_t id);

/* The inverse: the identifier of a message. `destination` counts in PDU1 alone, `broadcast` is
 * told by the group. */
uint32_t dbr_can_id_join(const struct dbr_can_id *parts);

/* A group as requests, acknowledgements and announcements carry it: 3 bytes, least significant
 * first (SAE J1939-21 5.4.2). */
uint32_t dbr_pgn_read(const uint8_t bytes[3]);

DBR_API_END

#endif
