/* Process data messages (ISO 11783-10 annex B): which carry a value, and how it is read. */
#include <criterion/criterion.h>

#include "drawbar/process_data.h"

Test(decoding_process_data, fields_of_a_value)
{
    /* Command 3, element 0x12A, DDI 397 (actual speed), -2 mm/s; worked by hand. */
    const uint8_t data[8] = {0xA3, 0x12, 0x8D, 0x01, 0xFE, 0xFF, 0xFF, 0xFF};
    struct dbr_process_data p = {0};

    cr_assert(dbr_process_data_read(&p, data, sizeof data));
    cr_expect_eq(p.command, DBR_PROCESS_VALUE);
    cr_expect_eq(p.element, 0x12A);
    cr_expect_eq(p.ddi, DBR_DDI_ACTUAL_SPEED);
    cr_expect_eq(p.value, -2);
}

Test(decoding_process_data, the_ends_of_the_value)
{
    const uint8_t lowest[8] = {0xF3, 0xFF, 0, 0, 0, 0, 0, 0x80};
    const uint8_t highest[8] = {0x03, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0x7F};
    struct dbr_process_data p = {0};

    cr_assert(dbr_process_data_read(&p, lowest, sizeof lowest));
    cr_expect_eq(p.value, INT32_MIN);
    cr_expect_eq(p.element, 4095);
    cr_assert(dbr_process_data_read(&p, highest, sizeof highest));
    cr_expect_eq(p.value, INT32_MAX);
    cr_expect_eq(p.element, 0);
}

Test(decoding_process_data, a_short_message_is_none)
{
    const uint8_t data[8] = {0x03, 0, 0x8D, 0x01};
    struct dbr_process_data p;

    for (size_t length = 0; length < sizeof data; length++)
        cr_expect_not(dbr_process_data_read(&p, data, length), "%zu bytes", length);
}

/* Technical data, descriptors, status and client task have neither DDI nor value; B and C are
 * reserved. */
Test(decoding_process_data, commands_with_a_value)
{
    static const bool carries[16] = {
        [0x2] = true, [0x3] = true, [0x4] = true, [0x5] = true, [0x6] = true,
        [0x7] = true, [0x8] = true, [0x9] = true, [0xA] = true, [0xD] = true};

    for (unsigned command = 0; command < 16; command++) {
        const uint8_t data[8] = {(uint8_t)(0xF0 | command)};
        struct dbr_process_data p;
        cr_expect_eq(dbr_process_data_read(&p, data, sizeof data), carries[command], "command %X",
                     command);
    }
}
