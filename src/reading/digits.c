/* digits.c - see digits.h. */
#include "reading/digits.h"

#include <string.h>

#define EACH UINT64_C(0x0101010101010101) /* times n: n in each byte */
#define HIGH (EACH * 0x80)

int digits_hex_value(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

uint32_t digits_hex(const char *at, size_t count, unsigned *wrong)
{
    uint32_t number = 0;

    for (size_t i = 0; i < count; i++) {
        int digit = digits_hex_value(at[i]);
        *wrong |= digit < 0;
        number = number << 4 | ((uint32_t)digit & 0xFu);
    }
    return number;
}

int64_t digits_decimal(const char *at, size_t count, unsigned *wrong)
{
    int64_t number = 0;

    for (size_t i = 0; i < count; i++) {
        unsigned digit = (unsigned)(unsigned char)at[i] - '0';
        *wrong |= digit > 9;
        number = number * 10 + (digit & 0xFu);
    }
    return number;
}

/* The first character in the highest byte, whatever the order of the machine. */
static uint64_t word_at(const char *at)
{
    uint64_t word;

    memcpy(&word, at, sizeof word);
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    word = __builtin_bswap64(word);
#endif
    return word;
}

/*
 * The highest bit of each byte that is not below `low` and not above `high`; holds for bytes
 * below 0x80. What is added carries a byte over 0x7F where the limit is reached, never over 0xFF.
 */
static uint64_t between(uint64_t word, char low, char high)
{
    uint64_t reaches = word + EACH * (0x80u - (unsigned)low);
    uint64_t exceeds = word + EACH * (0x7Fu - (unsigned)high);

    return reaches & ~exceeds & HIGH;
}

uint32_t digits_hex_word(const char *at, unsigned *wrong)
{
    uint64_t word = word_at(at), low = word & ~HIGH;
    uint64_t digit = between(low, '0', '9');
    uint64_t letter = between(low | EACH * 0x20, 'a', 'f'); /* 'A' and 'a' differ by 0x20 */

    *wrong |= (word & HIGH) != 0 || (digit | letter) != HIGH;
    uint64_t values = (low & EACH * 0xF) + (letter >> 7) * 9; /* 'a' ends in 1, and is 10 */
    values = (values | values >> 4) & UINT64_C(0x00FF00FF00FF00FF);
    values = (values | values >> 8) & UINT64_C(0x0000FFFF0000FFFF);
    return (uint32_t)(values | values >> 16);
}

int64_t digits_decimal_word(const char *at, unsigned *wrong)
{
    const uint64_t bytes = UINT64_C(0x00FF00FF00FF00FF), pairs = UINT64_C(0x0000FFFF0000FFFF);
    uint64_t word = word_at(at), low = word & ~HIGH;

    *wrong |= (word & HIGH) != 0 || between(low, '0', '9') != HIGH;
    uint64_t values = low & EACH * 0xF;
    values = (values >> 8 & bytes) * 10 + (values & bytes);
    values = (values >> 16 & pairs) * 100 + (values & pairs);
    return (int64_t)((values >> 32) * 10000 + (values & UINT32_MAX));
}
