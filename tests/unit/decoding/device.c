/* Device descriptions (ISO 11783-10 annex A): objects, how they hang together, what is wrong. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/device.h"
#include "support/pool.h"

static const struct dbr_pool_layout untold = {.version = DBR_VERSION_UNKNOWN};

static struct dbr_device *parsed(const struct bytes *b)
{
    struct dbr_device *d = dbr_device_parse(b->data, b->length, &untold);

    cr_assert_not_null(d);
    return d;
}

/* The problems as text, one a line; for messages and comparison. */
static const char *problems(const struct dbr_device *d)
{
    static char all[4096];
    char one[200];

    all[0] = '\0';
    for (size_t i = 0; i < d->problem_count; i++) {
        dbr_pool_problem_text(one, sizeof one, &d->problems[i]);
        snprintf(all + strlen(all), sizeof all - strlen(all), "%s\n", one);
    }
    return all;
}

Test(decoding_device, a_sound_description_of_either_layout)
{
    static const char *const extended[] = {NULL, "", "more of the label"};

    for (size_t i = 0; i < 3; i++) {
        struct bytes b = {0};
        pool_spreader(&b, extended[i]);
        struct dbr_device *d = parsed(&b);
        cr_assert(d->complete, "%s", problems(d));
        cr_expect_eq(d->problem_count, 0, "%s", problems(d));
        cr_expect_eq(d->object_count, POOL_SPREADER_OBJECTS);
        cr_expect_eq(d->version_4, extended[i] != NULL);
        cr_expect_eq(d->extended_label_length, extended[i] ? strlen(extended[i]) : 0);
        cr_expect_str_eq(d->designator, "Granule spreader");
        cr_expect_str_eq(d->software, "1.4.2");
        cr_expect_str_eq(d->serial, "2101");
        cr_expect_eq(d->name, UINT64_C(0xA00A8000FFE00002));
        cr_expect_arr_eq(d->structure_label, "GS24-07", 7);
        cr_expect_arr_eq(d->localization_label, "en\x4F\x04\x00\x00\xFF", 7);
        dbr_device_free(d);
        bytes_free(&b);
    }
}

Test(decoding_device, elements_and_what_they_list)
{
    struct bytes b = {0};
    pool_spreader(&b, "");
    struct dbr_device *d = parsed(&b);
    const struct dbr_device_object *left = dbr_device_element(d, 3);
    const struct dbr_device_object *boom = dbr_device_element(d, 1);

    cr_assert_not_null(left);
    cr_assert_not_null(boom);
    cr_expect_str_eq(left->text, "Left belt");
    cr_expect_eq(left->type, DBR_ELEMENT_BIN);
    cr_expect_str_eq(dbr_element_type_words(left->type), "bin");
    cr_expect_eq(left->parent, 1);
    cr_expect_null(dbr_device_element(d, 2), "number 2 is no element's, though an object's id");
    const struct dbr_device_object *rate = dbr_device_data(d, left, 7);
    cr_assert_not_null(rate);
    cr_expect_eq(rate->id, 22);
    cr_expect_eq(rate->properties, DBR_PROPERTY_DEFAULT);
    cr_expect_eq(rate->triggers, DBR_TRIGGER_TIME | DBR_TRIGGER_CHANGE);
    cr_expect_null(dbr_device_data(d, boom, 7));
    cr_expect(dbr_device_lists(d, 161, 176) == false);
    cr_expect(dbr_device_lists(d, 141, 141));
    cr_expect(dbr_device_lists(d, 67, 67) == false, "a property is no process data");
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, widths_of_sections_and_of_their_boom)
{
    struct bytes b = {0};
    pool_spreader(&b, NULL);
    struct dbr_device *d = parsed(&b);

    cr_expect_float_eq(dbr_device_width_m(d, dbr_device_element(d, 5)), 12.0, 1e-9);
    cr_expect_float_eq(dbr_device_width_m(d, dbr_device_element(d, 1)), 24.0, 1e-9);
    cr_expect(isnan(dbr_device_width_m(d, dbr_device_element(d, 3))), "a bin states none");
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, values_by_presentation_else_by_dictionary_else_raw)
{
    struct bytes b = {0};
    pool_spreader(&b, NULL);
    struct dbr_device *d = parsed(&b);

    /* 18 000 mg/m2 is 180 kg/ha: 1 mg/m2 = 0.01 kg/ha. */
    struct dbr_presented rate = dbr_device_present(d, dbr_device_object(d, 22), 18000);
    cr_expect_float_eq(rate.value, 180.0, 1e-4);
    cr_expect_eq(rate.decimals, 1);
    cr_expect_str_eq(rate.unit, "kg/ha");
    struct dbr_presented offset = dbr_device_present(d, dbr_device_object(d, 31), -6000);
    cr_expect_float_eq(offset.value, -6000, 1e-9);
    cr_expect_str_eq(offset.unit, "mm", "from the dictionary: DDI 135");
    struct dbr_presented own = dbr_device_present(d, dbr_device_object(d, 51), 7);
    cr_expect_float_eq(own.value, 7, 1e-9);
    cr_expect_str_eq(own.unit, "", "a maker's own value has no unit that we know");
    dbr_device_free(d);
    bytes_free(&b);
}

/* (raw + offset) * scale, with an offset that counts. */
Test(decoding_device, a_presentation_adds_before_it_scales)
{
    struct bytes b = {0};
    pool_device(&b, &(struct pool_device){"", "", "", 0, "       ", "       ", NULL});
    pool_presentation(&b, 9, -273150, 0.001f, 1, "°C");
    pool_data(&b, 8, 579, 0, 0, "", 9);
    struct dbr_device *d = parsed(&b);
    struct dbr_presented shown = dbr_device_present(d, dbr_device_object(d, 8), 293150);

    cr_expect_float_eq(shown.value, 20.0, 1e-4);
    cr_expect_str_eq(shown.unit, "°C");
    dbr_device_free(d);
    bytes_free(&b);
}

/* What a cut description refers to may be in what was cut off: it is not called missing. The same
 * where the bytes end between two objects, and the transfer is known to have broken off. */
Test(decoding_device, what_may_be_in_the_rest_is_not_missing)
{
    for (int between = 0; between < 2; between++) {
        struct bytes b = {0};
        pool_spreader(&b, NULL);
        struct dbr_device *whole = parsed(&b);
        struct dbr_pool_layout layout = {.version = DBR_VERSION_UNKNOWN, .broke_off = between};
        size_t length = whole->objects[5].offset + (between ? 0 : 6);
        struct dbr_device *d = dbr_device_parse(b.data, length, &layout);
        cr_expect_not(d->complete);
        cr_expect_eq(d->problem_count, between ? 0 : 1, "%s", problems(d));
        cr_expect_eq(d->object_count, 5);
        dbr_device_free(d);
        dbr_device_free(whole);
        bytes_free(&b);
    }
}

/* Told that the version is 4, a device object without its extended label is no whole one. */
Test(decoding_device, the_told_version_decides_where_nothing_follows)
{
    struct bytes b = {0};
    pool_device(&b, &(struct pool_device){"A", "B", "C", 1, "1234567", "1234567", NULL});
    struct dbr_pool_layout four = {.version = 4}, three = {.version = 3};
    struct dbr_device *d = dbr_device_parse(b.data, b.length, &four);

    cr_expect_not(d->complete);
    cr_expect_eq(d->problems[0].kind, DBR_POOL_CUT);
    dbr_device_free(d);
    d = dbr_device_parse(b.data, b.length, &three);
    cr_expect(d->complete);
    cr_expect_not(d->version_4);
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, an_unknown_object_ends_the_reading)
{
    struct bytes b = {0};
    pool_device(&b, &(struct pool_device){"A", "B", "C", 1, "1234567", "1234567", ""});
    size_t at = b.length;
    bytes_text(&b, "XYZ");
    bytes_repeat(&b, 0, 20);
    struct dbr_device *d = parsed(&b);

    cr_expect(d->described);
    cr_expect_not(d->complete);
    cr_expect_eq(d->read, at);
    cr_expect_str_eq(problems(d), "byte 34 (XYZ): no known object begins here, and the rest cannot "
                                  "be read\n");
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, more_objects_than_are_kept)
{
    struct bytes b = {0};
    pool_device(&b, &(struct pool_device){"A", "B", "C", 1, "1234567", "1234567", ""});
    for (unsigned i = 1; i < DBR_POOL_OBJECTS_MAX + 10; i++)
        pool_presentation(&b, (uint16_t)i, 0, 1.0f, 0, "");
    struct dbr_device *d = parsed(&b);

    cr_expect_eq(d->object_count, DBR_POOL_OBJECTS_MAX);
    cr_expect_not(d->complete);
    cr_assert_eq(d->problem_count, 1);
    cr_expect_eq(d->problems[0].kind, DBR_POOL_TOO_MANY);
    dbr_device_free(d);
    bytes_free(&b);
}

/* Each kind of mistake alone, in a description that is else sound. */
static void mistake(struct bytes *b, enum dbr_pool_problem_kind kind)
{
    static const uint16_t lost[] = {999}, wrong[] = {40};

    switch ((int)kind) {
    case DBR_POOL_SECOND_DEVICE:
        bytes_text(b, "DVC");
        bytes_integer(b, 77, 2);
        bytes_repeat(b, 0, 1 + 1 + 8 + 1 + 14 + 1);
        break;
    case DBR_POOL_DUPLICATE:
        pool_data(b, 22, 8, 0, 0, "", 0xFFFF);
        break;
    case DBR_POOL_ID_NONE:
        pool_data(b, DBR_OBJECT_NONE, 8, 0, 0, "", DBR_OBJECT_NONE);
        break;
    case DBR_POOL_PARENT_MISSING:
        pool_element(b, 60, 4, "Lost", 60, 999, NULL, 0);
        break;
    case DBR_POOL_PARENT_KIND:
        pool_element(b, 60, 4, "Lost", 60, 40, NULL, 0);
        break;
    case DBR_POOL_PARENT_CYCLE:
        pool_element(b, 60, 4, "One", 60, 61, NULL, 0);
        pool_element(b, 61, 4, "Two", 61, 62, NULL, 0);
        pool_element(b, 62, 4, "Three", 62, 60, NULL, 0);
        break;
    case DBR_POOL_REFERENCE_MISSING:
        pool_element(b, 60, 4, "", 60, 1, lost, 1);
        break;
    case DBR_POOL_REFERENCE_KIND:
        pool_element(b, 60, 4, "", 60, 1, wrong, 1);
        break;
    case DBR_POOL_PRESENTATION_MISSING:
        pool_data(b, 60, 8, 0, 0, "", 999);
        break;
    case DBR_POOL_SCALE:
        pool_presentation(b, 60, 0, (float)NAN, 0, "");
        break;
    case DBR_POOL_NUMBER_TWICE:
        pool_element(b, 60, 4, "", 3, 1, NULL, 0);
        break;
    case DBR_POOL_TEXT_LONG:
        pool_data(b, 60, 8, 0, 0, "a designator of more than thirty-two bytes", 0xFFFF);
        break;
    case DBR_POOL_TEXT_BYTES:
        pool_data(b, 60, 8, 0, 0, "caf\xE9", 0xFFFF);
        break;
    default:
        cr_assert_fail("no such mistake");
    }
}

Test(decoding_device, each_mistake_is_said_and_the_rest_is_kept)
{
    for (int k = DBR_POOL_SECOND_DEVICE; k < DBR_POOL_PROBLEM_KINDS; k++) {
        struct bytes b = {0};
        pool_spreader(&b, NULL);
        mistake(&b, (enum dbr_pool_problem_kind)k);
        struct dbr_device *d = parsed(&b);
        cr_assert_eq(d->problem_count, 1, "kind %d: %s", k, problems(d));
        cr_expect_eq((int)d->problems[0].kind, k, "%s", problems(d));
        cr_expect(d->complete, "every byte was read");
        cr_expect_str_eq(dbr_device_element(d, 3)->text, "Left belt");
        cr_expect_eq(dbr_device_object(d, 22)->ddi, 7, "the first one counts");
        cr_expect_null(dbr_device_object(d, DBR_OBJECT_NONE), "none is none");
        dbr_device_free(d);
        bytes_free(&b);
    }
}

Test(decoding_device, elements_in_a_circle_are_loose_and_others_are_not)
{
    struct bytes b = {0};
    pool_spreader(&b, NULL);
    mistake(&b, DBR_POOL_PARENT_CYCLE);
    pool_element(&b, 63, 4, "Hangs on the circle", 63, 60, NULL, 0);
    pool_element(&b, 64, 4, "Is its own parent", 64, 64, NULL, 0);
    struct dbr_device *d = parsed(&b);

    for (uint16_t number = 60; number <= 64; number++)
        cr_expect(dbr_device_element(d, number)->loose, "%u", number);
    for (uint16_t number = 3; number <= 6; number++)
        cr_expect_not(dbr_device_element(d, number)->loose, "%u", number);
    cr_expect_eq(d->problem_count, 2, "%s", problems(d));
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, texts_are_utf8_whatever_came)
{
    struct bytes b = {0};
    pool_device(&b, &(struct pool_device){"\xC3\xA4\xC3\x28\xF0\x9F", "1\xFF", "S", 1, "1234567",
                                          "1234567", NULL});
    struct dbr_device *d = parsed(&b);

    cr_expect_str_eq(d->designator, "\xC3\xA4\xEF\xBF\xBD\x28\xEF\xBF\xBD\xEF\xBF\xBD");
    cr_expect_str_eq(d->software, "1\xEF\xBF\xBD");
    dbr_device_free(d);
    bytes_free(&b);
}

/* Parts of one description: a later object of an id replaces the earlier; within a part it does
 * not. An object may straddle two parts. */
Test(decoding_device, a_later_part_replaces)
{
    struct bytes b = {0};
    size_t starts[3] = {0};
    pool_spreader(&b, NULL);
    starts[1] = b.length - 4;
    starts[2] = b.length;
    pool_data(&b, 22, 8, 0, 0, "Another rate", 0xFFFF);
    struct dbr_pool_layout parts = {.version = 3, .part_count = 3, .part_starts = starts};
    struct dbr_device *d = dbr_device_parse(b.data, b.length, &parts);

    cr_expect_eq(d->problem_count, 0, "%s", problems(d));
    cr_expect_eq(d->object_count, POOL_SPREADER_OBJECTS);
    cr_expect_eq(dbr_device_object(d, 22)->ddi, 8);
    cr_expect_str_eq(dbr_device_object(d, 22)->text, "Another rate");
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, a_designator_changes)
{
    struct bytes b = {0};
    pool_spreader(&b, NULL);
    struct dbr_device *d = parsed(&b);

    cr_expect(dbr_device_rename(d, 3, (const uint8_t *)"Links", 5));
    cr_expect(dbr_device_rename(d, 3, (const uint8_t *)"Left \xFF", 6));
    cr_expect(dbr_device_rename(d, 0, (const uint8_t *)"Spreader", 8));
    cr_expect_not(dbr_device_rename(d, 999, (const uint8_t *)"Links", 5));
    cr_expect_not(dbr_device_rename(d, 40, (const uint8_t *)"t", 1), "a unit is no designator");
    cr_expect_str_eq(dbr_device_element(d, 3)->text, "Left \xEF\xBF\xBD");
    cr_expect_str_eq(d->designator, "Spreader");
    dbr_device_free(d);
    bytes_free(&b);
}

Test(decoding_device, labels_as_letters_or_digits)
{
    char out[80];

    cr_expect_str_eq(dbr_label_text(out, sizeof out, (const uint8_t *)"GS24-07", 7), "GS24-07");
    cr_expect_str_eq(dbr_label_text(out, sizeof out, (const uint8_t *)"AB \0\0\0\xFF", 7), "AB");
    cr_expect_str_eq(dbr_label_text(out, sizeof out, (const uint8_t *)"\x01" "BC", 3), "0x014243");
    cr_expect_str_eq(dbr_label_text(out, 7, (const uint8_t *)"\x01\x02\x03\x04", 4), "0x0102");
}
