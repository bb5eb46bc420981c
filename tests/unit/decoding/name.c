/* NAMEs and addresses in words: what is known, what is not, and what counts as an implement. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/name.h"

static const char *function_words(unsigned group, unsigned device_class, unsigned function)
{
    struct dbr_name_fields name = {.industry_group = (uint8_t)group,
                                   .device_class = (uint8_t)device_class,
                                   .function = (uint8_t)function};
    const char *words = dbr_name_function_words(&name);
    return words ? words : "none";
}

Test(decoding_name, functions_below_128_mean_the_same_everywhere)
{
    cr_expect_str_eq(function_words(0, 0, 0), "engine");
    cr_expect_str_eq(function_words(2, 5, 0), "engine");
    cr_expect_str_eq(function_words(5, 90, 29), "virtual terminal");
    cr_expect_str_eq(function_words(0, 0, 1), "none");
}

Test(decoding_name, functions_from_128_depend_on_group_and_class)
{
    cr_expect_str_eq(function_words(2, 0, 130), "task controller");
    cr_expect_str_eq(function_words(2, 0, 134), "tractor ECU");
    cr_expect_str_eq(function_words(2, 1, 130), "rear hitch");
    cr_expect_str_eq(function_words(2, 5, 128), "rate control");
    cr_expect_str_eq(function_words(2, 5, 130), "product pressure control");
    cr_expect_str_eq(function_words(2, 6, 130), "none");
    cr_expect_str_eq(function_words(2, 7, 128), "tailings monitor");
    cr_expect_str_eq(function_words(0, 0, 134), "ground speed sensor");
    cr_expect_str_eq(function_words(3, 0, 134), "none");
}

Test(decoding_name, a_tractor_has_no_functions_of_implements)
{
    cr_expect_str_eq(function_words(2, 1, 128), "none");
    cr_expect_str_eq(function_words(2, 0, 132), "none");
    cr_expect_str_eq(function_words(2, 17, 133), "none");
    cr_expect_str_eq(function_words(2, 26, 128), "none");
    cr_expect_str_eq(function_words(2, 5, 255), "none");
}

Test(decoding_name, classes_belong_to_agriculture)
{
    struct dbr_name_fields name = {.industry_group = 2, .device_class = 5};

    cr_expect_str_eq(dbr_name_class_words(&name), "fertilizers");
    name.device_class = 1;
    cr_expect_str_eq(dbr_name_class_words(&name), "tractor");
    name.device_class = 29;
    cr_expect_str_eq(dbr_name_class_words(&name), "material handling");
    name.device_class = 30;
    cr_expect_null(dbr_name_class_words(&name));
    name.device_class = 127;
    cr_expect_null(dbr_name_class_words(&name));
    name = (struct dbr_name_fields){.industry_group = 4, .device_class = 5};
    cr_expect_null(dbr_name_class_words(&name));
}

Test(decoding_name, implements)
{
    static const struct {
        uint8_t group, device_class;
        bool implement;
    } rows[] = {{2, 5, true},  {2, 6, true},   {2, 11, true}, {2, 25, true}, {2, 0, false},
                {2, 1, false}, {2, 17, false}, {2, 24, false}, {2, 127, false}, {0, 5, false},
                {1, 5, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_name_fields name = {.industry_group = rows[i].group,
                                       .device_class = rows[i].device_class};
        cr_expect_eq(dbr_name_is_implement(&name), rows[i].implement, "row %zu", i);
    }
}

Test(decoding_name, usual_holders_of_addresses)
{
    cr_expect_str_eq(dbr_address_words(0), "engine");
    cr_expect_str_eq(dbr_address_words(240), "tractor ECU");
    cr_expect_str_eq(dbr_address_words(247), "task controller");
    cr_expect_null(dbr_address_words(128)); /* implements: no usual holder */
    cr_expect_null(dbr_address_words(254));
    cr_expect_null(dbr_address_words(255));
}
