/* Numbers as digits, exactly; bytes on their way; a stream that takes no more. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/print_value.h"

static struct print_buffer buffer;

/* What has been put since the last look. */
static const char *taken(void)
{
    cr_assert_lt(buffer.used, sizeof buffer.bytes);
    buffer.bytes[buffer.used] = '\0';
    buffer.used = 0;
    return buffer.bytes;
}

Test(reporting_print_buffer, numbers)
{
    put_number(&buffer, 0, 0);
    cr_expect_str_eq(taken(), "0");
    put_number(&buffer, UINT64_MAX, 0);
    cr_expect_str_eq(taken(), "18446744073709551615");
    put_number(&buffer, 42, 5);
    cr_expect_str_eq(taken(), "   42");
    put_hex_number(&buffer, 0x18FEF1u, 8);
    cr_expect_str_eq(taken(), "0018FEF1");
    put_hex(&buffer, (const uint8_t *)"\x00\x0F\xA0\xFF\x01\x02\x03\x04\x05", 9);
    cr_expect_str_eq(taken(), "000FA0FF0102030405");
}

Test(reporting_print_buffer, decimals)
{
    static const struct {
        int64_t number;
        unsigned decimals;
        const char *kept, *trimmed;
    } rows[] = {
        {0, 0, "0", "0"},          {0, 3, "0.000", "0"},    {1000, 3, "1.000", "1"},
        {1002, 3, "1.002", "1.002"}, {-5, 2, "-0.05", "-0.05"}, {-1250, 2, "-12.50", "-12.5"},
        {5, 18, "0.000000000000000005", "0.000000000000000005"},
        {INT64_MIN, 0, "-9223372036854775808", "-9223372036854775808"},
        {INT64_MAX, 18, "9.223372036854775807", "9.223372036854775807"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        put_decimal(&buffer, rows[i].number, rows[i].decimals, false);
        cr_expect_str_eq(taken(), rows[i].kept);
        put_decimal(&buffer, rows[i].number, rows[i].decimals, true);
        cr_expect_str_eq(taken(), rows[i].trimmed);
    }
}

Test(reporting_print_buffer, seconds_have_as_many_digits_as_there_are)
{
    put_seconds(&buffer, 0, 0);
    cr_expect_str_eq(taken(), "0.000000");
    put_seconds(&buffer, INT64_C(12345678000), 11);
    cr_expect_str_eq(taken(), "  12.345678");
    put_seconds(&buffer, INT64_C(1000000001), 0);
    cr_expect_str_eq(taken(), "1.000000001");
}

Test(reporting_print_buffer, values_of_signals)
{
    static const struct {
        double scale, offset;
        int64_t raw;
        const char *exact, *rounded;
    } rows[] = {
        {0.001, 0, 1003, "1.003", "1.003"},          /* 1.0029999999999999 as a double product */
        {1.0 / 256, 0, 0x0C00, "12", "12.000"},      /* SPN 84 */
        {1.0 / 256, 0, 0x0C01, "12.00390625", "12.004"},
        {1, -125, 113, "-12", "-12"},
        {0.05, 0, 246, "12.3", "12.30"},
        {1e-7, -210, 2550000000, "45", "45.0000000"},
        {10, -320000, 32000, "0", "0"},
        {0.0078125, -200, 25600, "0", "0.000"},
        {0.0078125, -200, 1, "-199.9921875", "-199.992"},
        {1e-16, 0, INT64_C(4500000000000000000), "450", "450.000000000"},
        {0.125, 0, 2, "0.25", "0.3"},                /* halves away from zero */
        {-0.125, 0, 2, "-0.25", "-0.3"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct print_scale s = print_scale_make(rows[i].scale, rows[i].offset);
        double number = (double)rows[i].raw * rows[i].scale + rows[i].offset;
        put_exact(&buffer, &s, rows[i].raw, number);
        cr_expect_str_eq(taken(), rows[i].exact, "row %zu", i);
        put_rounded(&buffer, &s, rows[i].raw, number);
        cr_expect_str_eq(taken(), rows[i].rounded, "row %zu", i);
    }
}

/* Whatever the scale, what is printed reads back as the value, to 15 digits. */
Test(reporting_print_buffer, every_scale_prints_the_value)
{
    static const double scales[] = {1, 0.1, 0.4, 0.8, 0.25, 1e-3, 1e-4, 1e-7, 1e-16, 1.0 / 128,
                                    1.0 / 256, 3.125e-8, 3.14159265358979 / 180, 1.0 / 3, 1e6,
                                    123456.789, 1e-30, 1e30};
    static const double offsets[] = {0, -125, -210, 1985, 0.5, -1e6};
    uint64_t random = 1;

    for (size_t s = 0; s < sizeof scales / sizeof scales[0]; s++)
        for (size_t o = 0; o < sizeof offsets / sizeof offsets[0]; o++) {
            struct print_scale scale = print_scale_make(scales[s], offsets[o]);
            for (unsigned i = 0; i < 64; i++) {
                random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
                int64_t raw = (int64_t)(random >> i);
                double number = (double)raw * scales[s] + offsets[o];
                put_exact(&buffer, &scale, raw, number);
                double back = strtod(taken(), NULL);
                double size = fabs((double)raw * scales[s]) + fabs(offsets[o]);
                cr_assert_leq(fabs(back - number), 6e-15 * size, "%g %g %lld", scales[s],
                              offsets[o], (long long)raw);
            }
        }
}

Test(reporting_print_buffer, bytes_beyond_its_size_come_out_whole_and_in_order)
{
    size_t size = 3 * PRINT_BUFFER_SIZE + 17, length = 0;
    char *bytes = malloc(size), *text = NULL;
    FILE *out = open_memstream(&text, &length);

    for (size_t i = 0; i < size; i++)
        bytes[i] = (char)('a' + i % 23);
    buffer = (struct print_buffer){.out = out};
    put_char(&buffer, '<');
    put_bytes(&buffer, bytes, size);
    put_char(&buffer, '>');
    cr_assert_eq(print_buffer_flush(&buffer, NULL), 0);
    fclose(out);
    cr_assert_eq(length, size + 2);
    cr_expect_eq(memcmp(text + 1, bytes, size), 0);
    cr_expect_eq(text[length - 1], '>');
    free(bytes);
    free(text);
}

Test(reporting_print_buffer, a_full_disk_is_told_with_its_reason)
{
    struct dbr_error error = {0};

    buffer = (struct print_buffer){.out = fopen("/dev/full", "w")};
    cr_assert(buffer.out);
    put_text(&buffer, "x");
    cr_assert_eq(print_buffer_flush(&buffer, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_WRITE);
    cr_expect(strstr(error.text, "No space left"), "%s", error.text);
    put_text(&buffer, "y");
    cr_expect_eq(print_buffer_flush(&buffer, &error), -1, "an earlier failure is not forgotten");
    fclose(buffer.out);
}
