/*
 * NAMEs. Fields: ISO 11783-5 4.3, SAE J1939-81 4.1.1. The two vectors are those
 * that an open test suite of J1939 publishes for them.
 */
#include <criterion/criterion.h>

#include "drawbar/name.h"

static void check_common(const struct dbr_name_fields *f)
{
    cr_expect_eq(f->manufacturer_code, 0x122);
    cr_expect_eq(f->ecu_instance, 1);
    cr_expect_eq(f->function_instance, 2);
    cr_expect_eq(f->function, 5);
    cr_expect_eq(f->device_class, 6);
    cr_expect_eq(f->device_class_instance, 5);
    cr_expect_eq(f->industry_group, 0);
    cr_expect(f->self_configurable);
}

Test(reference_names, published_vectors)
{
    const uint8_t first[8] = {0x09, 0x03, 0x4B, 0x24, 0x11, 0x05, 0x0C, 0x85};
    const uint8_t second[8] = {0x19, 0xA4, 0x49, 0x24, 0x11, 0x05, 0x0C, 0x85};
    struct dbr_name_fields f = dbr_name_split(dbr_name_from_bytes(first));

    cr_expect_eq(f.identity, 0xB0309);
    check_common(&f);
    f = dbr_name_split(dbr_name_from_bytes(second));
    cr_expect_eq(f.identity, 0x9A419);
    check_common(&f);
}

Test(reference_names, least_significant_byte_first)
{
    const uint8_t bytes[8] = {1, 2, 3, 4, 5, 6, 7, 8};

    cr_expect_eq(dbr_name_from_bytes(bytes), 0x0807060504030201);
}

/* Widths: 21, 11, 3, 5, 8, 1 reserved, 7, 4, 3, 1. */
Test(reference_names, each_field_has_its_width)
{
    struct dbr_name_fields f = dbr_name_split(UINT64_MAX);

    cr_expect_eq(f.identity, 0x1FFFFF);
    cr_expect_eq(f.manufacturer_code, 2047);
    cr_expect_eq(f.ecu_instance, 7);
    cr_expect_eq(f.function_instance, 31);
    cr_expect_eq(f.function, 255);
    cr_expect_eq(f.device_class, 127);
    cr_expect_eq(f.device_class_instance, 15);
    cr_expect_eq(f.industry_group, 7);
    cr_expect(f.self_configurable);
    f = dbr_name_split(UINT64_C(1) << 48); /* the reserved bit belongs to nobody */
    cr_expect_eq(f.function, 0);
    cr_expect_eq(f.device_class, 0);
}
