/* What is concluded from an error frame. The codes themselves: tests/reference/error_codes.c. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/error_frame.h"

static struct dbr_error_report read(uint32_t classes, const uint8_t data[8])
{
    struct dbr_frame frame = {.id = classes, .flags = DBR_FRAME_ERROR, .length = 8};

    memcpy(frame.data, data, 8);
    return dbr_error_frame_read(&frame);
}

#define READ(classes, ...) read(classes, (const uint8_t[8]){__VA_ARGS__})

Test(decoding_error_frame, the_most_severe_state_counts)
{
    const uint32_t controller = DBR_ERROR_CLASS_CONTROLLER;

    cr_expect_eq(READ(controller, 0, 0x40).state, DBR_CONTROLLER_ACTIVE);
    cr_expect_eq(READ(controller, 0, 0x04).state, DBR_CONTROLLER_WARNING);
    cr_expect_eq(READ(controller, 0, 0x08).state, DBR_CONTROLLER_WARNING);
    cr_expect_eq(READ(controller, 0, 0x10).state, DBR_CONTROLLER_PASSIVE);
    cr_expect_eq(READ(controller, 0, 0x3C).state, DBR_CONTROLLER_PASSIVE);
    cr_expect_eq(READ(controller | DBR_ERROR_CLASS_BUS_OFF, 0, 0x3C).state, DBR_CONTROLLER_OFF);
    cr_expect_eq(READ(controller, 0, 0x01).state, DBR_CONTROLLER_UNSAID);
    cr_expect_eq(READ(DBR_ERROR_CLASS_PROTOCOL, 0, 0x10).state, DBR_CONTROLLER_UNSAID);
}

Test(decoding_error_frame, lost_frames)
{
    cr_expect(READ(DBR_ERROR_CLASS_CONTROLLER, 0, 0x01).overflow);
    cr_expect(READ(DBR_ERROR_CLASS_CONTROLLER, 0, 0x02).overflow);
    cr_expect_not(READ(DBR_ERROR_CLASS_CONTROLLER, 0, 0x04).overflow);
    cr_expect_not(READ(DBR_ERROR_CLASS_PROTOCOL, 0, 0x01).overflow);
}

Test(decoding_error_frame, kinds)
{
    const uint32_t protocol = DBR_ERROR_CLASS_PROTOCOL;

    cr_expect_eq(READ(protocol, 0, 0, 0x04, 0x0A).kinds, 1u << DBR_ERROR_KIND_STUFF);
    cr_expect_eq(READ(protocol, 0, 0, 0x86).kinds,
                 1u << DBR_ERROR_KIND_STUFF | 1u << DBR_ERROR_KIND_FORM);
    cr_expect_eq(READ(protocol, 0, 0, 0).kinds, 1u << DBR_ERROR_KIND_UNSPECIFIED);
    cr_expect_eq(READ(protocol, 0, 0, 0x10, DBR_ERROR_PLACE_ACK).kinds,
                 1u << DBR_ERROR_KIND_BIT1 | 1u << DBR_ERROR_KIND_ACK);
    cr_expect_eq(READ(DBR_ERROR_CLASS_NO_ACK, 0).kinds, 1u << DBR_ERROR_KIND_ACK);
    cr_expect_eq(READ(DBR_ERROR_CLASS_BUS_ERROR, 0, 0, 0x04).kinds, 0);
}

Test(decoding_error_frame, details_count_only_with_their_class)
{
    struct dbr_error_report with =
        READ(DBR_ERROR_CLASS_PROTOCOL | DBR_ERROR_CLASS_TRANSCEIVER, 0, 0, 0x80, 0x0A, 0x04);
    struct dbr_error_report without = READ(DBR_ERROR_CLASS_BUS_ERROR, 0, 0, 0x80, 0x0A, 0x04);

    cr_expect(with.on_transmission);
    cr_expect_eq(with.place, 0x0A);
    cr_expect_eq(with.transceiver, 0x04);
    cr_expect_not(without.on_transmission);
    cr_expect_eq(without.place, DBR_ERROR_PLACE_UNSPECIFIED);
    cr_expect_eq(without.transceiver, 0);
}

Test(decoding_error_frame, counters)
{
    struct dbr_error_report said = READ(DBR_ERROR_CLASS_COUNTERS, 0);
    struct dbr_error_report older = READ(DBR_ERROR_CLASS_CONTROLLER, 0, 0, 0, 0, 0, 0, 0x60, 0x07);

    cr_expect(said.counters_present);
    cr_expect(older.counters_present);
    cr_expect_eq(older.transmit_errors, 0x60);
    cr_expect_eq(older.receive_errors, 7);
    cr_expect(READ(DBR_ERROR_CLASS_CONTROLLER, 0, 0, 0, 0, 0, 0, 0, 1).counters_present);
    cr_expect_not(READ(DBR_ERROR_CLASS_CONTROLLER, 0).counters_present);
}

Test(decoding_error_frame, words)
{
    for (int i = 0; i < DBR_ERROR_KIND_COUNT; i++)
        cr_expect_str_neq(dbr_error_kind_words((enum dbr_error_kind)i), "unknown");
    cr_expect_str_eq(dbr_error_kind_words(DBR_ERROR_KIND_ACK), "no acknowledgement");
    cr_expect_str_eq(dbr_error_place_words(DBR_ERROR_PLACE_ACK), "ACK slot");
    cr_expect_null(dbr_error_place_words(DBR_ERROR_PLACE_UNSPECIFIED));
    cr_expect_null(dbr_error_place_words(0xFF));
    cr_expect_str_eq(dbr_error_transceiver_words(0x04), "CAN_H: no wire");
    cr_expect_str_eq(dbr_error_transceiver_words(0x44), "CAN_H and CAN_L: no wire");
    cr_expect_null(dbr_error_transceiver_words(0));
}
