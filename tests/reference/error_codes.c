/*
 * Error frames: every code against the header of the kernel that writes them,
 * linux/can/error.h. A code that a header older than 2022 lacks is compared by
 * its number.
 */
#include <criterion/criterion.h>
#include <linux/can.h>
#include <linux/can/error.h>
#include <string.h>

#include "drawbar/error_frame.h"

#ifndef CAN_ERR_CNT
#define CAN_ERR_CNT 0x00000200U
#endif

Test(reference_error_codes, classes)
{
    cr_expect_eq(DBR_ERROR_CLASS_TX_TIMEOUT, CAN_ERR_TX_TIMEOUT);
    cr_expect_eq(DBR_ERROR_CLASS_LOST_ARBITRATION, CAN_ERR_LOSTARB);
    cr_expect_eq(DBR_ERROR_CLASS_CONTROLLER, CAN_ERR_CRTL);
    cr_expect_eq(DBR_ERROR_CLASS_PROTOCOL, CAN_ERR_PROT);
    cr_expect_eq(DBR_ERROR_CLASS_TRANSCEIVER, CAN_ERR_TRX);
    cr_expect_eq(DBR_ERROR_CLASS_NO_ACK, CAN_ERR_ACK);
    cr_expect_eq(DBR_ERROR_CLASS_BUS_OFF, CAN_ERR_BUSOFF);
    cr_expect_eq(DBR_ERROR_CLASS_BUS_ERROR, CAN_ERR_BUSERROR);
    cr_expect_eq(DBR_ERROR_CLASS_RESTARTED, CAN_ERR_RESTARTED);
    cr_expect_eq(DBR_ERROR_CLASS_COUNTERS, CAN_ERR_CNT);
    cr_expect_eq(DBR_STANDARD_ID_MAX, CAN_SFF_MASK);
    cr_expect_eq(DBR_EXTENDED_ID_MAX, CAN_EFF_MASK);
}

static struct dbr_error_report read_byte(uint32_t classes, size_t index, uint8_t value)
{
    struct dbr_frame frame = {.id = classes, .flags = DBR_FRAME_ERROR, .length = CAN_ERR_DLC};

    frame.data[index] = value;
    return dbr_error_frame_read(&frame);
}

Test(reference_error_codes, controller_states)
{
    static const struct {
        uint8_t code;
        enum dbr_controller_state state;
        bool overflow;
    } rows[] = {
        {CAN_ERR_CRTL_UNSPEC, DBR_CONTROLLER_UNSAID, false},
        {CAN_ERR_CRTL_RX_OVERFLOW, DBR_CONTROLLER_UNSAID, true},
        {CAN_ERR_CRTL_TX_OVERFLOW, DBR_CONTROLLER_UNSAID, true},
        {CAN_ERR_CRTL_RX_WARNING, DBR_CONTROLLER_WARNING, false},
        {CAN_ERR_CRTL_TX_WARNING, DBR_CONTROLLER_WARNING, false},
        {CAN_ERR_CRTL_RX_PASSIVE, DBR_CONTROLLER_PASSIVE, false},
        {CAN_ERR_CRTL_TX_PASSIVE, DBR_CONTROLLER_PASSIVE, false},
        {CAN_ERR_CRTL_ACTIVE, DBR_CONTROLLER_ACTIVE, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_error_report report = read_byte(CAN_ERR_CRTL, 1, rows[i].code);
        cr_expect_eq(report.state, rows[i].state, "code %02X", rows[i].code);
        cr_expect_eq(report.overflow, rows[i].overflow, "code %02X", rows[i].code);
    }
}

Test(reference_error_codes, protocol_violations)
{
    static const struct {
        uint8_t code;
        enum dbr_error_kind kind;
    } rows[] = {
        {CAN_ERR_PROT_UNSPEC, DBR_ERROR_KIND_UNSPECIFIED},
        {CAN_ERR_PROT_BIT, DBR_ERROR_KIND_BIT},
        {CAN_ERR_PROT_FORM, DBR_ERROR_KIND_FORM},
        {CAN_ERR_PROT_STUFF, DBR_ERROR_KIND_STUFF},
        {CAN_ERR_PROT_BIT0, DBR_ERROR_KIND_BIT0},
        {CAN_ERR_PROT_BIT1, DBR_ERROR_KIND_BIT1},
        {CAN_ERR_PROT_OVERLOAD, DBR_ERROR_KIND_OVERLOAD},
        {CAN_ERR_PROT_ACTIVE, DBR_ERROR_KIND_ACTIVE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(read_byte(CAN_ERR_PROT, 2, rows[i].code).kinds, 1u << rows[i].kind,
                     "code %02X", rows[i].code);
    cr_expect(read_byte(CAN_ERR_PROT, 2, CAN_ERR_PROT_TX).on_transmission);
}

Test(reference_error_codes, places)
{
    static const struct {
        uint8_t code;
        const char *words;
    } rows[] = {
        {CAN_ERR_PROT_LOC_SOF, "start of frame"},
        {CAN_ERR_PROT_LOC_ID28_21, "identifier, bits 28-21"},
        {CAN_ERR_PROT_LOC_ID20_18, "identifier, bits 20-18"},
        {CAN_ERR_PROT_LOC_SRTR, "substitute RTR bit"},
        {CAN_ERR_PROT_LOC_IDE, "identifier extension bit"},
        {CAN_ERR_PROT_LOC_ID17_13, "identifier, bits 17-13"},
        {CAN_ERR_PROT_LOC_ID12_05, "identifier, bits 12-5"},
        {CAN_ERR_PROT_LOC_ID04_00, "identifier, bits 4-0"},
        {CAN_ERR_PROT_LOC_RTR, "remote request bit"},
        {CAN_ERR_PROT_LOC_RES1, "reserved bit 1"},
        {CAN_ERR_PROT_LOC_RES0, "reserved bit 0"},
        {CAN_ERR_PROT_LOC_DLC, "data length code"},
        {CAN_ERR_PROT_LOC_DATA, "data"},
        {CAN_ERR_PROT_LOC_CRC_SEQ, "CRC sequence"},
        {CAN_ERR_PROT_LOC_CRC_DEL, "CRC delimiter"},
        {CAN_ERR_PROT_LOC_ACK, "ACK slot"},
        {CAN_ERR_PROT_LOC_ACK_DEL, "ACK delimiter"},
        {CAN_ERR_PROT_LOC_EOF, "end of frame"},
        {CAN_ERR_PROT_LOC_INTERM, "intermission"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_not_null(dbr_error_place_words(rows[i].code), "code %02X", rows[i].code);
        cr_expect_str_eq(dbr_error_place_words(rows[i].code), rows[i].words);
        cr_expect_eq(read_byte(CAN_ERR_PROT, 3, rows[i].code).place, rows[i].code);
    }
    cr_expect_null(dbr_error_place_words(CAN_ERR_PROT_LOC_UNSPEC));
    cr_expect_eq(DBR_ERROR_PLACE_ACK, CAN_ERR_PROT_LOC_ACK);
    cr_expect_eq(DBR_ERROR_PLACE_ACK_DELIMITER, CAN_ERR_PROT_LOC_ACK_DEL);
}

Test(reference_error_codes, transceiver)
{
    static const struct {
        uint8_t code;
        const char *words;
    } rows[] = {
        {CAN_ERR_TRX_CANH_NO_WIRE, "CAN_H: no wire"},
        {CAN_ERR_TRX_CANH_SHORT_TO_BAT, "CAN_H: short to battery"},
        {CAN_ERR_TRX_CANH_SHORT_TO_VCC, "CAN_H: short to supply"},
        {CAN_ERR_TRX_CANH_SHORT_TO_GND, "CAN_H: short to ground"},
        {CAN_ERR_TRX_CANL_NO_WIRE, "CAN_L: no wire"},
        {CAN_ERR_TRX_CANL_SHORT_TO_BAT, "CAN_L: short to battery"},
        {CAN_ERR_TRX_CANL_SHORT_TO_VCC, "CAN_L: short to supply"},
        {CAN_ERR_TRX_CANL_SHORT_TO_GND, "CAN_L: short to ground"},
        {CAN_ERR_TRX_CANL_SHORT_TO_CANH, "CAN_L: short to CAN_H"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_not_null(dbr_error_transceiver_words(rows[i].code), "code %02X", rows[i].code);
        cr_expect_str_eq(dbr_error_transceiver_words(rows[i].code), rows[i].words);
        cr_expect_eq(read_byte(CAN_ERR_TRX, 4, rows[i].code).transceiver, rows[i].code);
    }
    cr_expect_null(dbr_error_transceiver_words(CAN_ERR_TRX_UNSPEC));
}

Test(reference_error_codes, counters)
{
    cr_expect_eq(read_byte(CAN_ERR_CNT, 6, 200).transmit_errors, 200);
    cr_expect_eq(read_byte(CAN_ERR_CNT, 7, 201).receive_errors, 201);
}
