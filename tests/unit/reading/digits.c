/* Eight digits at once against one by one. */
#include <criterion/criterion.h>
#include <stdint.h>
#include <string.h>

#include "reading/digits.h"

/* Whether the word and the plain way agree; on what is wrong alone, the number is any. */
static void expect_same(const char text[8])
{
    unsigned wrong_word = 0, wrong_plain = 0;
    uint32_t word = digits_hex_word(text, &wrong_word), plain = digits_hex(text, 8, &wrong_plain);

    cr_assert_eq(wrong_word != 0, wrong_plain != 0, "hexadecimal %.8s", text);
    cr_assert(wrong_plain || word == plain, "hexadecimal %.8s", text);

    wrong_word = wrong_plain = 0;
    int64_t number = digits_decimal_word(text, &wrong_word);
    int64_t other = digits_decimal(text, 8, &wrong_plain);
    cr_assert_eq(wrong_word != 0, wrong_plain != 0, "decimal %.8s", text);
    cr_assert(wrong_plain || number == other, "decimal %.8s", text);
}

Test(reading_digits, every_character_at_every_place)
{
    for (unsigned place = 0; place < 8; place++)
        for (unsigned c = 0; c < 256; c++) {
            char text[8];
            memcpy(text, "1907A5f0", 8);
            text[place] = (char)c;
            expect_same(text);
            memcpy(text, "19070530", 8);
            text[place] = (char)c;
            expect_same(text);
        }
}

/* Xorshift, 64 bits: every run tries the same words. */
Test(reading_digits, words_at_random_and_near_digits)
{
    static const char near[] = "0123456789ABCDEFabcdef/:@G`g\x10\x19\xB0\xC1 ";
    uint64_t state = UINT64_C(88172645463325252);

    for (int round = 0; round < 300000; round++) {
        char text[8];
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        memcpy(text, &state, sizeof text);
        if (round % 4 != 0)
            for (unsigned i = 0; i < 8; i++)
                text[i] = near[(state >> (8 * i) & 0xFF) % (round % 2 ? 22 : sizeof near - 1)];
        expect_same(text);
    }
}

Test(reading_digits, numbers_by_hand)
{
    unsigned wrong = 0;

    cr_expect_eq(digits_hex_word("18FEf1aB", &wrong), 0x18FEF1ABu);
    cr_expect_eq(digits_decimal_word("17170000", &wrong), 17170000);
    cr_expect_eq(digits_decimal("000042", 6, &wrong), 42);
    cr_expect_eq(digits_hex("7f", 2, &wrong), 0x7Fu);
    cr_expect_eq(wrong, 0);
}
