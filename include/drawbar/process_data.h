/*
 * process_data.h - the messages between a task controller and an implement.
 *
 * Source: ISO 11783-10 annex B (process data message, PGN 51968): command in
 * bits 1-4 of byte 1, element number in its bits 5-8 and byte 2, DDI in bytes
 * 3-4, signed 32-bit value in bytes 5-8, least significant byte first.
 */
#ifndef DRAWBAR_PROCESS_DATA_H
#define DRAWBAR_PROCESS_DATA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"

DBR_API_BEGIN

enum dbr_process_command {
    DBR_PROCESS_TECHNICAL = 0x0,
    DBR_PROCESS_DEVICE_DESCRIPTOR = 0x1,
    DBR_PROCESS_REQUEST_VALUE = 0x2,
    DBR_PROCESS_VALUE = 0x3,
    DBR_PROCESS_TIME_INTERVAL = 0x4,
    DBR_PROCESS_DISTANCE_INTERVAL = 0x5,
    DBR_PROCESS_MINIMUM = 0x6,
    DBR_PROCESS_MAXIMUM = 0x7,
    DBR_PROCESS_CHANGE = 0x8,
    DBR_PROCESS_PEER_CONTROL = 0x9,
    DBR_PROCESS_SET_AND_ACKNOWLEDGE = 0xA,
    DBR_PROCESS_ACKNOWLEDGE = 0xD,
    DBR_PROCESS_CONTROLLER_STATUS = 0xE,
    DBR_PROCESS_CLIENT_TASK = 0xF
};

#define DBR_DDI_ACTUAL_WORK_STATE 141u /* 0 off, 1 on, 2 error, 3 not installed (ISO 11783-11) */
#define DBR_DDI_SETPOINT_WORK_STATE 289u
#define DBR_DDI_ACTUAL_SPEED 397u      /* mm/s (ISO 11783-11) */

struct dbr_process_data {
    enum dbr_process_command command; /* any value 0..15 may occur */
    uint16_t element;                 /* 0..4095 */
    uint16_t ddi;
    int32_t value;
};

/* Reads a process data message. False where it is shorter than 8 bytes or has no DDI and value
 * (technical data, device descriptors, status and client task). */
bool dbr_process_data_read(struct dbr_process_data *out, const uint8_t *data, size_t length);

DBR_API_END

#endif
