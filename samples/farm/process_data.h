/*
 * process_data.h - messages between task controller and spreader (ISO 11783-10 annex B).
 *
 * Byte 1: command and low bits of the element number, or a whole command byte of
 * the technical data and device descriptor groups; byte 2: element number; bytes
 * 3-4: DDI; bytes 5-8: signed value.
 */
#ifndef FARM_PROCESS_DATA_H
#define FARM_PROCESS_DATA_H

#include "farm/ecu.h"

/* Commands, low four bits of byte 1. */
#define FARM_COMMAND_REQUEST_VALUE 0x2u
#define FARM_COMMAND_VALUE         0x3u
#define FARM_COMMAND_TIME_INTERVAL 0x4u
#define FARM_COMMAND_CHANGE        0x8u
#define FARM_COMMAND_STATUS        0xEu
#define FARM_COMMAND_CLIENT_TASK   0xFu

/* Whole first bytes. */
#define FARM_REQUEST_VERSION      0x00u
#define FARM_VERSION              0x10u
#define FARM_REQUEST_STRUCTURE    0x01u
#define FARM_STRUCTURE            0x11u
#define FARM_REQUEST_LOCALIZATION 0x21u
#define FARM_LOCALIZATION         0x31u
#define FARM_ASK_TRANSFER         0x41u
#define FARM_ALLOW_TRANSFER       0x51u
#define FARM_TRANSFER             0x61u
#define FARM_TRANSFERRED          0x71u
#define FARM_ACTIVATE             0x81u
#define FARM_ACTIVATED            0x91u

/* Data dictionary, ISO 11783-11. */
#define FARM_DDI_RATE_SETPOINT        6u   /* mg/m2 */
#define FARM_DDI_RATE_ACTUAL          7u   /* mg/m2 */
#define FARM_DDI_TOTAL_MASS           81u  /* kg */
#define FARM_DDI_WORK_STATE           141u /* 0 off, 1 on */
#define FARM_DDI_SECTION_CONTROL      160u /* 0 manual, 1 automatic */
#define FARM_DDI_SECTIONS             161u /* 2 bits a section, leftmost lowest */
#define FARM_DDI_WORK_STATE_SETPOINT  289u
#define FARM_DDI_SHAFT_SPEED_SETPOINT 389u /* 0.0001 1/min */
#define FARM_DDI_SHAFT_SPEED          390u /* 0.0001 1/min */
#define FARM_DDI_SPEED                397u /* mm/s */

/* Elements of the spreader's device description. */
#define FARM_ELEMENT_DEVICE 0u
#define FARM_ELEMENT_BOOM   1u
#define FARM_ELEMENT_BIN    2u /* and the one after it: one a bin */
#define FARM_ELEMENT_SECTION 4u /* and the five after it, from the left */
#define FARM_ELEMENT_WEIGHER 10u

#define FARM_STRUCTURE_LABEL 'G', 'S', '2', '4', '-', '0', '7'

#define FARM_VERSION_NUMBER       4u /* 2nd published edition */
#define FARM_STATUS_TOTALS_ACTIVE 1u /* a task runs: totals are counted */

struct farm_process_data {
    unsigned command;
    uint16_t element;
    uint16_t ddi;
    int32_t value;
};

struct farm_process_data farm_process_data_read(const uint8_t data[8]);
void farm_process_data_write(uint8_t data[8], const struct farm_process_data *p);

/* Sends a command with element, DDI and value. */
void farm_process_data_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned destination,
                            const struct farm_process_data *p, int64_t delay_us);

/* Sends a message that has its own layout; the bytes that are not given are FF. */
void farm_process_bytes_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned destination,
                             const uint8_t *bytes, size_t count, int64_t delay_us);

/* Whether a frame is process data to `ecu` itself, or to all. */
bool farm_is_process_data(const struct farm_ecu *ecu, const struct farm_frame *frame);

#endif
