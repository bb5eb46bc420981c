/* Diagnostic messages: where codes begin and end, what is none, what is not certain. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/trouble_code.h"

/* All codes of a list; their count. */
static size_t codes_of(const uint8_t *data, size_t length, struct dbr_trouble_list *list,
                       struct dbr_trouble_code out[8])
{
    size_t count = 0;

    if (!dbr_trouble_list_open(list, data, length))
        return 0;
    while (count < 8 && dbr_trouble_list_next(list, &out[count]))
        count++;
    return count;
}

#define CODES(list, out, ...)                                                                      \
    codes_of((const uint8_t[]){__VA_ARGS__}, sizeof((const uint8_t[]){__VA_ARGS__}), list, out)

Test(decoding_trouble_code, all_19_bits_of_an_spn)
{
    struct dbr_trouble_list list;
    struct dbr_trouble_code c[8];

    cr_assert_eq(CODES(&list, c, 0, 0xFF, 0x01, 0x00, 0x00, 0x7F), 1);
    cr_expect_eq(c[0].spn, 1);
    cr_assert_eq(CODES(&list, c, 0, 0xFF, 0x00, 0x01, 0x00, 0x7F), 1);
    cr_expect_eq(c[0].spn, 256);
    for (unsigned bit = 0; bit < 3; bit++) {
        cr_assert_eq(CODES(&list, c, 0, 0xFF, 0x00, 0x00, (uint8_t)(0x20u << bit | 5u), 0x01), 1);
        cr_expect_eq(c[0].spn, 65536u << bit);
        cr_expect_eq(c[0].fmi, 5);
        cr_expect_eq(c[0].count, 1);
    }
}

Test(decoding_trouble_code, no_fault_and_nothing_told_are_no_codes)
{
    struct dbr_trouble_list list;
    struct dbr_trouble_code c[8];

    cr_expect_eq(CODES(&list, c, 0, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF), 0);
    cr_expect(list.told_none);
    cr_expect_eq(CODES(&list, c, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF), 0);
    cr_expect_not(list.told_none, "bytes FF say neither yes nor no");
    cr_expect_eq(list.lamps.state[DBR_LAMP_RED], DBR_LAMP_NOT_AVAILABLE);
    /* SPN 0 with a failure mode is odd, and not "no fault" */
    cr_expect_eq(CODES(&list, c, 0, 0xFF, 0, 0, 3, 1), 1);
    cr_expect_not(list.told_none);
}

Test(decoding_trouble_code, too_short_to_say_anything)
{
    static const uint8_t data[8] = {0x04, 0xFF, 0x64, 0x00, 0x04, 0x01, 0xFF, 0xFF};
    struct dbr_trouble_list list;

    for (size_t length = 0; length < 6; length++)
        cr_expect_not(dbr_trouble_list_open(&list, data, length), "%zu bytes", length);
    cr_expect(dbr_trouble_list_open(&list, data, 6));
    cr_expect(dbr_trouble_list_open(&list, data, 8));
}

Test(decoding_trouble_code, several_codes_and_what_is_left_over)
{
    struct dbr_trouble_list list;
    struct dbr_trouble_code c[8];

    cr_assert_eq(CODES(&list, c, 4, 0xFF, 100, 0, 3, 1, 110, 0, 4, 2, 0xBE, 0, 2, 0x7F), 3);
    cr_expect_eq(c[0].spn, 100);
    cr_expect_eq(c[1].spn, 110);
    cr_expect_eq(c[1].count, 2);
    cr_expect_eq(c[2].spn, 190);
    cr_expect_eq(c[2].count, DBR_OCCURRENCES_UNKNOWN);
    cr_expect_eq(list.ragged, 0);
    /* padding of a tail, and a tail that is none */
    cr_assert_eq(CODES(&list, c, 4, 0xFF, 100, 0, 3, 1, 110, 0, 4, 2, 0xFF, 0xFF), 2);
    cr_expect_eq(list.ragged, 0);
    cr_assert_eq(CODES(&list, c, 4, 0xFF, 100, 0, 3, 1, 110, 0, 4, 2, 0xBE, 0, 2), 2);
    cr_expect_eq(list.ragged, 3);
}

Test(decoding_trouble_code, an_older_layout_is_flagged_and_shown_as_sent)
{
    struct dbr_trouble_list list;
    struct dbr_trouble_code c[8];

    cr_assert_eq(CODES(&list, c, 4, 0xFF, 0x12, 0x34, 0x65, 0x83), 1);
    cr_expect(c[0].older_layout);
    cr_expect_eq(c[0].count, 3, "the bit is no part of the count");
    cr_expect_arr_eq(c[0].raw, ((const uint8_t[]){0x12, 0x34, 0x65, 0x83}), 4);
}

Test(decoding_trouble_code, each_lamp_has_its_place)
{
    static const uint8_t on[DBR_LAMPS] = {
        [DBR_LAMP_PROTECT] = 0x01, [DBR_LAMP_AMBER] = 0x04, [DBR_LAMP_RED] = 0x10,
        [DBR_LAMP_MALFUNCTION] = 0x40};
    struct dbr_trouble_list list;

    for (unsigned i = 0; i < DBR_LAMPS; i++) {
        const uint8_t data[] = {on[i], (uint8_t)~(3u << 2 * i), 0, 0, 0, 0};
        cr_assert(dbr_trouble_list_open(&list, data, sizeof data));
        for (unsigned k = 0; k < DBR_LAMPS; k++) {
            cr_expect_eq(list.lamps.state[k], i == k ? DBR_LAMP_ON : DBR_LAMP_OFF);
            cr_expect_eq(list.lamps.flash[k], i == k ? DBR_FLASH_SLOW : DBR_FLASH_NONE);
        }
    }
}

Test(decoding_trouble_code, orders_about_broadcasts)
{
    static const struct {
        uint8_t data[8];
        size_t length;
        enum dbr_broadcast_order order;
    } rows[] = {
        {{0x3F, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_STOP},
        {{0xFC, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_STOP},
        {{0x7F, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_START},
        {{0xFD, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_START},
        {{0xFF, 0xFF, 0xFF, 0x0F, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_HOLD},
        {{0xFF, 0xFF, 0xFF, 0x1F, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_HOLD},
        {{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_NOTHING},
        /* other networks than the one that carries the message: bits 3 to 6 */
        {{0xC3, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, 8, DBR_BROADCAST_NOTHING},
        {{0}, 0, DBR_BROADCAST_NOTHING},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(dbr_broadcast_order_read(rows[i].data, rows[i].length), rows[i].order,
                     "row %zu", i);
}

Test(decoding_trouble_code, clearing_one_code)
{
    static const uint8_t ask[8] = {0x11, 0xFF, 0xFF, 0xFF, 0xFF, 0x64, 0x00, 0x04};
    static const uint8_t no[8] = {0x03, 0x01, 0xFF, 0xFF, 0xFF, 0x64, 0x00, 0x04};
    static const uint8_t odd[8] = {0x14, 0xFF, 0xFF, 0xFF, 0xFF, 0x64, 0x00, 0x04};
    struct dbr_code_clear clear;

    cr_assert(dbr_code_clear_read(&clear, ask, 8));
    cr_expect(clear.active && clear.request);
    cr_expect_eq(clear.code.spn, 100);
    cr_expect_eq(clear.code.fmi, 4);
    cr_assert(dbr_code_clear_read(&clear, no, 8));
    cr_expect_not(clear.active || clear.request || clear.done);
    cr_expect_eq(clear.reason, 1);
    cr_expect_not(dbr_code_clear_read(&clear, odd, 8));
    cr_expect_not(dbr_code_clear_read(&clear, ask, 7));
}

/* A name comes from a definition where one carries the signal, also from one of the user's. */
Test(decoding_trouble_code, words_of_a_parameter)
{
    static const char more[] =
        "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"s\",\"messages\":["
        "{\"pgn\":65310,\"name\":\"n\",\"length\":8,\"signals\":["
        "{\"name\":\"Belt pressure\",\"spn\":6001,\"byte\":1,\"bits\":8,\"scale\":1}]}]}";
    struct dbr_error error;
    struct dbr_definitions *definitions = dbr_definitions_new(&error);

    cr_assert_not_null(definitions);
    cr_expect_str_eq(dbr_spn_words(definitions, 1862), "Wheel-based machine speed");
    cr_expect_str_eq(dbr_spn_words(definitions, 639), "J1939 network 1");
    cr_expect_null(dbr_spn_words(definitions, 6001));
    cr_assert_eq(dbr_definitions_load_text(definitions, "more", more, strlen(more), &error), 0,
                 "%s", error.text);
    cr_expect_str_eq(dbr_spn_words(definitions, 6001), "Belt pressure");
    cr_expect_null(dbr_spn_words(NULL, 1862), "without definitions only the own list is known");
    /* the sender's address and a maker's own number have no words of their own */
    cr_expect_null(dbr_spn_words(definitions, 2240));
    cr_expect_null(dbr_spn_words(definitions, 516096));
    cr_expect_null(dbr_spn_words(definitions, 0));
    dbr_definitions_free(definitions);
}

Test(decoding_trouble_code, every_failure_mode_has_words)
{
    for (unsigned fmi = 0; fmi < 256; fmi++)
        cr_expect_neq(dbr_fmi_words((uint8_t)fmi)[0], '\0');
    cr_expect_str_eq(dbr_fmi_words(22), "reserved failure mode");
    cr_expect_str_eq(dbr_fmi_words(30), "reserved failure mode");
    cr_expect_str_eq(dbr_fmi_words(31), "condition exists");
    cr_expect(dbr_spn_is_address(2000) && dbr_spn_is_address(2255));
    cr_expect_not(dbr_spn_is_address(1999) || dbr_spn_is_address(2256));
    cr_expect(dbr_spn_is_maker(516096) && dbr_spn_is_maker(524287));
    cr_expect_not(dbr_spn_is_maker(516095));
}
