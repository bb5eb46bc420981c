/*
 * digits.h - numbers in text, eight digits at a time.
 *
 * Eight characters are looked at as one word of 64 bits, whose bytes are checked and put
 * together side by side. That works on every machine; the plain ways do the same digit by digit,
 * serve for what is left over, and are what the tests hold the others to.
 */
#ifndef DRAWBAR_READING_DIGITS_H
#define DRAWBAR_READING_DIGITS_H

#include <stddef.h>
#include <stdint.h>

/* The value of a hexadecimal digit; -1 for any other character. */
int digits_hex_value(char c);

/* The number that `count` (<= 8) hexadecimal digits make, most significant first. Sets `*wrong`
 * where one is none; the number is then any. */
uint32_t digits_hex(const char *at, size_t count, unsigned *wrong);

/* The same of `count` (<= 18) decimal digits. */
int64_t digits_decimal(const char *at, size_t count, unsigned *wrong);

/* The same of eight. */
uint32_t digits_hex_word(const char *at, unsigned *wrong);
int64_t digits_decimal_word(const char *at, unsigned *wrong);

#endif
