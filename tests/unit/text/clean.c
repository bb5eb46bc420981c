/* Texts of a recording, made harmless: controls, directions, broken UTF-8 (RFC 3629, UAX 9). */
#include <criterion/criterion.h>
#include <string.h>

#include "text/clean.h"

#define GONE "\xEF\xBF\xBD"

Test(text_clean, hostile_text_is_shown_as_replacement)
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
        {"a\xE2\x80\x8B\xE2\x81\xA0\xEF\xBB\xBF" "b", "a" GONE GONE GONE "b"}, /* zero width */
        {"a\xD8\x9C\xE2\x80\x8F" "b", "a" GONE GONE "b"},  /* direction marks */
        {"a\xC2\xAD\xE3\x85\xA4" "b", "a" GONE GONE "b"},  /* soft hyphen, filler */
        {"a\xF3\xA0\x81\x81" "b", "a" GONE "b"},         /* tag letter: text that is not seen */
        {"a\xEF\xB8\x8F\xEF\xBF\xBE" "b", "a" GONE GONE "b"}, /* variation, no character */
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

Test(text_clean, a_text_that_is_too_long_is_cut_at_a_whole_character)
{
    char out[6];

    cr_assert_str_eq(clean_text(out, sizeof out, "ab\xE2\x82\xAC\xE2\x82\xAC"), "ab\xE2\x82\xAC");
    cr_assert_str_eq(clean_text(out, 1, "abc"), "");
}

/* What others publish as the edges of the ranges: one before, the first, the last, one behind. */
Test(text_clean, the_ranges_of_the_unicode_character_database_hold_at_their_edges)
{
    static const uint32_t ranges[][2] = {
        {0x80, 0x9F},     {0xAD, 0xAD},     {0x34F, 0x34F},     {0x61C, 0x61C},
        {0x115F, 0x1160}, {0x180B, 0x180F}, {0x200B, 0x200F},   {0x2028, 0x202E},
        {0x2060, 0x206F}, {0x3164, 0x3164}, {0xFE00, 0xFE0F},   {0xFEFF, 0xFEFF},
        {0xFFF0, 0xFFFB}, {0xFFFE, 0xFFFF}, {0x1D173, 0x1D17A}, {0xE0000, 0xE0FFF}};

    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        cr_expect(clean_is_harmful(ranges[i][0]) && clean_is_harmful(ranges[i][1]), "row %zu", i);
        cr_expect(!clean_is_harmful(ranges[i][1] + 1), "after U+%04X", ranges[i][1]);
        cr_expect(ranges[i][0] == 0x80 || !clean_is_harmful(ranges[i][0] - 1), "before U+%04X",
                  ranges[i][0]);
    }
}
