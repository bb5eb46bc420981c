/*
 * frame.h - a frame on the bus, its identifier, and the bytes in it.
 *
 * Identifier: SAE J1939-21 5.2. Bytes: least significant first, as ISO 11783-7
 * prints them; here they count from 0, as C does.
 */
#ifndef FARM_FRAME_H
#define FARM_FRAME_H

#include <stdbool.h>
#include <stdint.h>

#define FARM_GLOBAL       255u /* destination "everyone" (J1939-81 4.1) */
#define FARM_NULL_ADDRESS 254u /* source without an address (J1939-81 4.1) */

/* Parameter groups. ISO 11783-7 unless said otherwise. */
#define FARM_PGN_PROCESS_DATA   51968u /* ISO 11783-10 */
#define FARM_PGN_REQUEST        59904u /* J1939-21 */
#define FARM_PGN_CLAIM          60928u /* J1939-81 */
#define FARM_PGN_ENGINE         61444u /* J1939-71, electronic engine controller 1 */
#define FARM_PGN_SELECTED_SPEED 61474u
#define FARM_PGN_IDENTIFICATION 64965u /* ECU identification; ISO 11783-12, J1939-71 */
#define FARM_PGN_SET_MEMBER     65036u
#define FARM_PGN_SET_MASTER     65037u
#define FARM_PGN_LANGUAGE       65039u
#define FARM_PGN_REAR_PTO       65091u
#define FARM_PGN_REAR_HITCH     65093u
#define FARM_PGN_MAINTAIN_POWER 65095u
#define FARM_PGN_WHEEL_SPEED    65096u
#define FARM_PGN_GROUND_SPEED   65097u
#define FARM_PGN_TROUBLE_CODES  65226u /* DM1, J1939-73 */
#define FARM_PGN_SOFTWARE       65242u /* J1939-71 */
#define FARM_PGN_TIME_DATE      65254u  /* J1939-71 */
#define FARM_PGN_ELECTRICAL     65271u  /* J1939-71, vehicle electrical power 1 */
#define FARM_PGN_POSITION       129025u /* NMEA 2000 */
#define FARM_PGN_COURSE_SPEED   129026u /* NMEA 2000 */

/* Proprietary B groups of the invented spreader; their layouts stand where they are composed. */
#define FARM_PGN_BIN_WEIGHTS     65301u
#define FARM_PGN_OUTLET_COMMANDS 65305u
#define FARM_PGN_OUTLETS         65310u
#define FARM_PGN_BOOM_HEIGHT     65311u
#define FARM_PGN_GRANULE_FLOW    65320u

struct farm_frame {
    uint32_t id;    /* 29 bits, or the class of an error frame */
    bool error;     /* an error frame of the recorder's own controller */
    uint8_t length; /* 0..8 */
    uint8_t data[8];
};

/* The identifier. `destination` counts only where the group has one (PDU format < 240). */
uint32_t farm_id(unsigned priority, uint32_t pgn, unsigned destination, unsigned source);

uint32_t farm_id_group(uint32_t id);
uint8_t farm_id_source(uint32_t id);
uint8_t farm_id_destination(uint32_t id); /* FARM_GLOBAL for broadcasts */

/* A frame of 8 bytes that are all "not available". */
struct farm_frame farm_frame_of(uint32_t id);

void farm_put16(uint8_t *at, uint32_t value);
void farm_put32(uint8_t *at, uint32_t value);
void farm_put64(uint8_t *at, uint64_t value);
uint32_t farm_get16(const uint8_t *at);
uint32_t farm_get32(const uint8_t *at);
uint64_t farm_get64(const uint8_t *at);

#endif
