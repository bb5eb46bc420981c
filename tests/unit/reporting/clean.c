/* Texts of a recording, made harmless: controls, directions, broken UTF-8 (RFC 3629, UAX 9). */
#include <criterion/criterion.h>
#include <string.h>

#include "reporting/clean.h"

#define GONE "\xEF\xBF\xBD"

Test(reporting_clean, hostile_text_is_shown_as_replacement)
{
    static const struct {
        char text[32];
        char expected[64];
    } rows[] = {
        {"plain text", "plain text"},
        {"B\xC3\xBChler \xE2\x82\xAC", "B\xC3\xBChler \xE2\x82\xAC"},
        {"\xF0\x9F\x9A\x9C", "\xF0\x9F\x9A\x9C"},
        {"a\033[31mb", "a" GONE "[31mb"},           /* terminal escape */
        {"a\nb\rc\td", "a" GONE "b" GONE "c" GONE "d"},
        {"a\x7F" "b", "a" GONE "b"},
        {"a\xC2\x9B" "31mb", "a" GONE "31mb"},      /* C1: control sequence introducer */
        {"a\xE2\x80\xAE" "b", "a" GONE "b"},        /* right-to-left override */
        {"a\xE2\x81\xA6" "b", "a" GONE "b"},        /* isolate */
        {"a\xE2\x80\xA8" "b", "a" GONE "b"},        /* line separator */
        {"\xFF\xFE", GONE GONE},
        {"a\xC3", "a" GONE},                        /* cut */
        {"\xC0\xAF", GONE GONE},                    /* overlong */
        {"\xED\xA0\x80", GONE GONE GONE},           /* surrogate */
        {"\xF5\x80\x80\x80", GONE GONE GONE GONE},  /* beyond U+10FFFF */
    };
    char out[128];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_assert_str_eq(clean_text(out, sizeof out, rows[i].text), rows[i].expected, "row %zu",
                         i);
}

Test(reporting_clean, a_text_that_is_too_long_is_cut_at_a_whole_character)
{
    char out[6];

    cr_assert_str_eq(clean_text(out, sizeof out, "ab\xE2\x82\xAC\xE2\x82\xAC"), "ab\xE2\x82\xAC");
    cr_assert_str_eq(clean_text(out, 1, "abc"), "");
}
