/*
 * device.c - a device description worked by hand from the layouts of ISO 11783-10 annex A,
 * byte by byte, as a capture would show it.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/device.h"

/* Object pool of an implement with one bin; each line is a field. */
static const char pool_hex[] =
    "445643 0000"                       /* DVC, object 0 */
    "04 54657374"                       /* designator, 4 bytes: Test */
    "03 312E30"                         /* software version: 1.0 */
    "0100E0FF00800AA0"                  /* NAME, least significant byte first */
    "02 3432"                           /* serial number: 42 */
    "4C4142454C2D31"                    /* structure label: LABEL-1 */
    "656E4F040000FF"                    /* localization label: en, metric */
    "02 4142"                           /* version 4: extended structure label, AB */
    "444554 0100 01 00 0000 0000 0000"  /* DET 1: device, no name, number 0, parent 0, no data */
    "444554 0200 03 03 42696E 0300 0100 0200 0A00 0B00" /* DET 2: bin "Bin", number 3, parent 1 */
    "445044 0A00 0700 01 09 04 52617465 1400" /* DPD 10: DDI 7, default set, time and change */
    "445054 0B00 4300 E02E0000 00 FFFF" /* DPT 11: DDI 67, 12 000 mm, no name, no presentation */
    "445650 1400 F6FFFFFF 0AD7233C 01 05 6B672F6861"; /* DVP 20: -10, 0.01 (3C23D70A), kg/ha */

static size_t unhex(uint8_t *out, const char *hex)
{
    size_t count = 0;

    for (const char *at = hex; *at;) {
        unsigned byte;
        while (*at == ' ')
            at++;
        if (sscanf(at, "%2x", &byte) != 1)
            break;
        out[count++] = (uint8_t)byte;
        at += 2;
    }
    return count;
}

Test(reference_device, the_worked_pool)
{
    uint8_t bytes[sizeof pool_hex];
    size_t length = unhex(bytes, pool_hex);
    const struct dbr_pool_layout layout = {.version = 4};
    struct dbr_device *d = dbr_device_parse(bytes, length, &layout);

    cr_assert_not_null(d);
    cr_assert(d->complete);
    cr_assert_eq(d->problem_count, 0);
    cr_assert_eq(d->object_count, 6);
    cr_expect_str_eq(d->designator, "Test");
    cr_expect_str_eq(d->software, "1.0");
    cr_expect_str_eq(d->serial, "42");
    cr_expect_eq(d->name, UINT64_C(0xA00A8000FFE00001));
    cr_expect_arr_eq(d->structure_label, "LABEL-1", 7);
    cr_expect_eq(d->extended_label_length, 2);
    cr_expect_arr_eq(d->extended_label, "AB", 2);
    const struct dbr_device_object *bin = dbr_device_element(d, 3);
    cr_assert_not_null(bin);
    cr_expect_str_eq(bin->text, "Bin");
    cr_expect_str_eq(dbr_element_type_words(bin->type), "bin");
    const struct dbr_device_object *rate = dbr_device_data(d, bin, 7);
    cr_assert_not_null(rate);
    /* (18 010 - 10) * 0.01 = 180.0 kg/ha */
    struct dbr_presented shown = dbr_device_present(d, rate, 18010);
    cr_expect_float_eq(shown.value, 180.0, 1e-4);
    cr_expect_eq(shown.decimals, 1);
    cr_expect_str_eq(shown.unit, "kg/ha");
    cr_expect_float_eq(dbr_device_width_m(d, bin), 12.0, 1e-9);
    dbr_device_free(d);
}

/* Types of elements, as the schema of task files states them, too (ISO 11783-10 annex D). */
Test(reference_device, types_of_elements)
{
    static const char *const words[] = {"device", "function", "bin", "section", "unit", "connector",
                                        "navigation reference"};

    for (uint8_t type = 1; type <= 7; type++)
        cr_expect_str_eq(dbr_element_type_words(type), words[type - 1]);
    cr_expect_null(dbr_element_type_words(0));
    cr_expect_null(dbr_element_type_words(8));
}
