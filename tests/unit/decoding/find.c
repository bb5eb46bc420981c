/* Which definition holds for a message: conditions on address and NAME, and what waits for a NAME.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/definitions.h"

/* Manufacturer code 2047, function 128, device class 5, industry group 2, identity 7; invented. */
static const uint64_t spreader = 7u | UINT64_C(2047) << 21 | UINT64_C(3) << 32 | UINT64_C(9) << 35 |
                                 UINT64_C(128) << 40 | UINT64_C(5) << 49 | UINT64_C(6) << 56 |
                                 UINT64_C(2) << 60;

static struct dbr_definitions *definitions;

static void set_up(void)
{
    static const char text[] =
        "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\"messages\":["
        "{\"pgn\":65280,\"name\":\"any\",\"signals\":[]},"
        "{\"pgn\":65280,\"name\":\"maker\",\"when\":{\"manufacturer_code\":2047},\"signals\":[]},"
        "{\"pgn\":65280,\"name\":\"rate\",\"when\":{\"manufacturer_code\":2047,\"function\":128},"
        "\"signals\":[]},"
        "{\"pgn\":65280,\"name\":\"at 140\",\"when\":{\"address\":140},\"signals\":[]},"
        "{\"pgn\":65284,\"name\":\"at 140\",\"when\":{\"address\":140},\"signals\":[]},"
        "{\"pgn\":65284,\"name\":\"any\",\"signals\":[]},"
        "{\"pgn\":65281,\"name\":\"alone\",\"when\":{\"identity\":7},\"signals\":[]},"
        "{\"pgn\":65282,\"name\":\"both\",\"when\":{\"identity\":7,\"address\":140},\"signals\":[]}"
        ","
        "{\"pgn\":65283,\"name\":\"first\",\"when\":{\"identity\":7},\"signals\":[]},"
        "{\"pgn\":65283,\"name\":\"later\",\"when\":{\"device_class\":5},\"signals\":[]}]}";
    struct dbr_error error = {0};

    definitions = dbr_definitions_new(&error);
    cr_assert_eq(dbr_definitions_load_text(definitions, "t", text, strlen(text), &error), 0, "%s",
                 error.text);
}

static void tear_down(void)
{
    dbr_definitions_free(definitions);
}

TestSuite(decoding_find, .init = set_up, .fini = tear_down);

static const char *found(uint32_t pgn, uint8_t address, const uint64_t *name)
{
    const struct dbr_message *m = dbr_definitions_find(definitions, pgn, address, name, NULL);
    return m ? m->name : "none";
}

static const char *waiting(uint32_t pgn, uint8_t address, const uint64_t *name)
{
    const struct dbr_message *waits;

    dbr_definitions_find(definitions, pgn, address, name, &waits);
    return waits ? waits->name : "none";
}

Test(decoding_find, the_one_with_the_most_conditions_wins)
{
    const uint64_t other_function = spreader ^ UINT64_C(1) << 40;
    const uint64_t other_maker = spreader ^ UINT64_C(1) << 21;

    cr_expect_str_eq(found(65280, 128, &spreader), "rate");
    cr_expect_str_eq(found(65280, 140, &spreader), "rate");
    cr_expect_str_eq(found(65280, 128, &other_function), "maker");
    cr_expect_str_eq(found(65280, 128, &other_maker), "any");
    cr_expect_str_eq(found(65280, 140, &other_maker), "at 140");
}

Test(decoding_find, an_address_is_a_condition_too)
{
    cr_expect_str_eq(found(65284, 140, NULL), "at 140");
    cr_expect_str_eq(found(65284, 141, NULL), "any");
}

Test(decoding_find, among_equals_the_later_one_wins)
{
    cr_expect_str_eq(found(65283, 128, &spreader), "later");
}

Test(decoding_find, without_a_name_conditions_on_it_do_not_hold)
{
    cr_expect_str_eq(found(65280, 128, NULL), "any");
    cr_expect_str_eq(waiting(65280, 128, NULL), "none");
}

Test(decoding_find, a_definition_that_needs_a_name_waits_for_it)
{
    const uint64_t stranger = spreader + 1;

    cr_expect_str_eq(found(65281, 128, NULL), "none");
    cr_expect_str_eq(waiting(65281, 128, NULL), "alone");
    cr_expect_str_eq(found(65281, 128, &spreader), "alone");
    cr_expect_str_eq(waiting(65281, 128, &spreader), "none");
    cr_expect_str_eq(found(65281, 128, &stranger), "none");
    cr_expect_str_eq(waiting(65281, 128, &stranger), "none");
    cr_expect_str_eq(waiting(65282, 140, NULL), "both");
    cr_expect_str_eq(waiting(65282, 141, NULL), "none");
}

Test(decoding_find, each_field_of_the_name_can_be_asked_for)
{
    static const char *const fields[] = {"\"manufacturer_code\":2047",
                                         "\"function\":128",
                                         "\"device_class\":5",
                                         "\"industry_group\":2",
                                         "\"identity\":7",
                                         "\"ecu_instance\":3",
                                         "\"function_instance\":9",
                                         "\"device_class_instance\":6"};
    static const unsigned first_bits[] = {21, 40, 49, 60, 0, 32, 35, 56};

    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        char text[300];
        const uint64_t other = spreader ^ UINT64_C(1) << first_bits[i];
        const uint32_t pgn = 65300 + (uint32_t)i;
        snprintf(
            text, sizeof text,
            "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\"messages\":["
            "{\"pgn\":%u,\"name\":\"m\",\"when\":{%s},\"signals\":[]}]}",
            pgn, fields[i]);
        cr_assert_eq(dbr_definitions_load_text(definitions, "t", text, strlen(text), NULL), 0);
        cr_expect_str_eq(found(pgn, 0, &spreader), "m", "%s", fields[i]);
        cr_expect_str_eq(found(pgn, 0, &other), "none", "%s", fields[i]);
    }
}

Test(decoding_find, groups_without_a_definition)
{
    cr_expect_str_eq(found(256, 0, NULL), "none");
    cr_expect_str_eq(found(65290, 0, &spreader), "none");
    cr_expect_str_eq(found(UINT32_MAX, 0, NULL), "none");
}
