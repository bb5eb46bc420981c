/* A signal out of bytes: bits, special values by width and rule, scaling, range. */
#include <criterion/criterion.h>

#include "drawbar/definitions.h"

static struct dbr_signal signal_of(unsigned first_bit, unsigned bits, enum dbr_special special)
{
    return (struct dbr_signal){.name = "a",
                               .unit = "",
                               .first_bit = (uint16_t)first_bit,
                               .bits = (uint8_t)bits,
                               .special = special,
                               .scale = 1};
}

/* The status of a raw value that stands alone in its bytes. */
static enum dbr_value_status status_of(enum dbr_special special, bool is_signed, unsigned bits,
                                       uint64_t raw)
{
    struct dbr_signal signal = signal_of(0, bits, special);
    uint8_t data[8];

    for (unsigned i = 0; i < 8; i++)
        data[i] = (uint8_t)(raw >> 8 * i);
    signal.is_signed = is_signed;
    struct dbr_value value = dbr_signal_decode(&signal, data, sizeof data);
    cr_expect_eq(value.raw, raw);
    return value.status;
}

#define VALID DBR_VALUE_VALID
#define NOT_AVAILABLE DBR_VALUE_NOT_AVAILABLE
#define ERROR DBR_VALUE_ERROR
#define OUT_OF_RANGE DBR_VALUE_OUT_OF_RANGE

Test(decoding_signal, special_values_of_narrow_signals)
{
    static const struct {
        unsigned bits;
        uint64_t raw;
        enum dbr_value_status status;
    } rows[] = {
        {1, 0, VALID},   {1, 1, VALID},   {2, 1, VALID},   {2, 2, ERROR},
        {2, 3, NOT_AVAILABLE},            {3, 6, VALID},   {3, 7, NOT_AVAILABLE},
        {4, 13, VALID},  {4, 14, ERROR},  {4, 15, NOT_AVAILABLE},
        {5, 30, VALID},  {5, 31, NOT_AVAILABLE},
        {6, 61, VALID},  {6, 62, ERROR},  {6, 63, NOT_AVAILABLE},
        {7, 126, VALID}, {7, 127, NOT_AVAILABLE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(status_of(DBR_SPECIAL_J1939, false, rows[i].bits, rows[i].raw),
                     rows[i].status, "%u bits, raw %lu", rows[i].bits, rows[i].raw);
}

Test(decoding_signal, other_wide_signals_know_all_ones_alone)
{
    static const unsigned widths[] = {9, 11, 12, 21, 40, 48, 56, 63};

    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        uint64_t ones = (UINT64_C(1) << widths[i]) - 1;
        cr_expect_eq(status_of(DBR_SPECIAL_J1939, false, widths[i], ones), NOT_AVAILABLE);
        cr_expect_eq(status_of(DBR_SPECIAL_J1939, false, widths[i], ones - 1), VALID);
    }
}

Test(decoding_signal, nmea2000_knows_the_two_largest_values)
{
    static const struct {
        bool is_signed;
        unsigned bits;
        uint64_t raw;
        enum dbr_value_status status;
    } rows[] = {
        {false, 16, 0xFFFF, NOT_AVAILABLE},    {false, 16, 0xFFFE, ERROR},
        {false, 16, 0xFFFD, VALID},            {false, 16, 0xFD00, VALID},
        {false, 8, 0xFF, NOT_AVAILABLE},       {false, 8, 0xFB, VALID},
        {false, 2, 3, NOT_AVAILABLE},          {false, 2, 2, VALID},
        {false, 1, 1, VALID},                  {true, 32, 0x7FFFFFFF, NOT_AVAILABLE},
        {true, 32, 0x7FFFFFFE, ERROR},         {true, 32, 0x7FFFFFFD, VALID},
        {true, 32, 0xFFFFFFFF, VALID},         {true, 64, INT64_MAX, NOT_AVAILABLE},
        {false, 64, UINT64_MAX, NOT_AVAILABLE}, {false, 64, UINT64_MAX - 1, ERROR},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(status_of(DBR_SPECIAL_NMEA2000, rows[i].is_signed, rows[i].bits, rows[i].raw),
                     rows[i].status, "row %zu", i);
}

Test(decoding_signal, without_a_rule_every_value_is_a_value)
{
    for (unsigned bits = 1; bits <= 64; bits++)
        cr_expect_eq(status_of(DBR_SPECIAL_NONE, false, bits, UINT64_MAX >> (64 - bits)), VALID);
}

/* The obvious way to take bits, one by one: the oracle for every place and width. */
static uint64_t bits_one_by_one(const uint8_t *data, unsigned first_bit, unsigned bits)
{
    uint64_t value = 0;

    for (unsigned i = 0; i < bits; i++) {
        unsigned bit = first_bit + i;
        value |= (uint64_t)(data[bit / 8] >> bit % 8 & 1) << i;
    }
    return value;
}

Test(decoding_signal, bits_at_every_place_and_width)
{
    static const uint8_t data[16] = {0x12, 0x9A, 0xF0, 0x5D, 0xC3, 0x7E, 0x81, 0x4B,
                                     0xE6, 0x2F, 0xB8, 0x07, 0xD1, 0x6C, 0x3A, 0x95};

    for (unsigned first = 0; first < 64; first++)
        for (unsigned bits = 1; bits <= 64; bits++) {
            struct dbr_signal signal = signal_of(first, bits, DBR_SPECIAL_NONE);
            size_t length = (first + bits + 7) / 8; /* not a byte more, for the sanitizer */
            struct dbr_value value = dbr_signal_decode(&signal, data, length);
            cr_assert_eq(value.raw, bits_one_by_one(data, first, bits), "%u bits at %u", bits,
                         first);
        }
}

Test(decoding_signal, a_short_message_has_no_value)
{
    struct dbr_signal signal = signal_of(12, 8, DBR_SPECIAL_J1939);
    const uint8_t data[3] = {0, 0xF0, 0x01};

    cr_expect_eq(dbr_signal_decode(&signal, data, 3).raw, 0x1F);
    cr_expect_eq(dbr_signal_decode(&signal, data, 3).status, VALID);
    cr_expect_eq(dbr_signal_decode(&signal, data, 2).status, DBR_VALUE_ABSENT);
    cr_expect_eq(dbr_signal_decode(&signal, NULL, 0).status, DBR_VALUE_ABSENT);
}

Test(decoding_signal, scaling_and_sign)
{
    struct dbr_signal signal = signal_of(0, 16, DBR_SPECIAL_NONE);
    const uint8_t minus_two[2] = {0xFE, 0xFF}, lowest[2] = {0x00, 0x80};

    signal.scale = 0.5;
    signal.offset = -100;
    cr_expect_float_eq(dbr_signal_decode(&signal, minus_two, 2).number, 32667.0, 1e-9);
    signal.is_signed = true;
    cr_expect_float_eq(dbr_signal_decode(&signal, minus_two, 2).number, -101.0, 1e-9);
    cr_expect_float_eq(dbr_signal_decode(&signal, lowest, 2).number, -16484.0, 1e-9);
}

Test(decoding_signal, values_beyond_the_stated_range)
{
    struct dbr_signal signal = signal_of(0, 8, DBR_SPECIAL_J1939);

    signal.has_range = true;
    signal.low = 10;
    signal.high = 20;
    for (unsigned raw = 0; raw <= 0xFA; raw++) {
        const uint8_t data[1] = {(uint8_t)raw};
        bool inside = raw >= 10 && raw <= 20;
        cr_expect_eq(dbr_signal_decode(&signal, data, 1).status, inside ? VALID : OUT_OF_RANGE);
    }
    const uint8_t nothing[1] = {0xFF};
    cr_expect_eq(dbr_signal_decode(&signal, nothing, 1).status, NOT_AVAILABLE);
}

Test(decoding_signal, texts_of_states)
{
    static const struct dbr_state_text states[] = {{0, "off"}, {1, "on"}};
    struct dbr_signal signal = signal_of(0, 2, DBR_SPECIAL_J1939);

    signal.states = states;
    signal.state_count = 2;
    cr_expect_str_eq(dbr_signal_state(&signal, 1), "on");
    cr_expect_null(dbr_signal_state(&signal, 2));
}

Test(decoding_signal, every_status_and_role_has_a_name_of_its_own)
{
    for (int i = 0; i <= DBR_VALUE_ABSENT; i++)
        for (int k = 0; k < i; k++)
            cr_expect_str_neq(dbr_value_status_name((enum dbr_value_status)i),
                              dbr_value_status_name((enum dbr_value_status)k));
    for (int i = 0; i < DBR_ROLE_COUNT; i++)
        for (int k = 0; k < i; k++)
            cr_expect_str_neq(dbr_role_name((enum dbr_role)i), dbr_role_name((enum dbr_role)k));
}
