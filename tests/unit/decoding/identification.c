/* What an ECU tells about itself: fields and delimiters, padding, hostile and overlong texts. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/identity.h"

#define GONE "\xEF\xBF\xBD" /* U+FFFD */

static struct dbr_told told;

/* A message from text with its NUL bytes; "|" between expected fields. */
static void expect_fields(enum dbr_told_group group, const char *data, size_t length,
                          const char *expected)
{
    char found[DBR_TOLD_FIELDS_MAX * DBR_TOLD_TEXT_MAX] = "";

    bool says = dbr_told_read(&told, group, (const uint8_t *)data, length);
    for (size_t i = 0; i < told.text_count; i++) {
        strncat(found, told.texts[i], sizeof found - strlen(found) - 1);
        if (i + 1 < told.text_count)
            strncat(found, "|", sizeof found - strlen(found) - 1);
    }
    cr_expect_str_eq(found, expected);
    cr_expect_eq(says, strspn(expected, "|") < strlen(expected), "\"%s\"", expected);
    cr_expect_not(told.cut);
}

#define FIELDS(group, data, expected) expect_fields(group, data, sizeof data - 1, expected)

Test(decoding_identification, fields_end_with_their_delimiter)
{
    FIELDS(DBR_TOLD_ECU, "P7*S1*left*meter*maker 9*H2*", "P7|S1|left|meter|maker 9|H2");
    cr_expect_eq(told.beyond, 0);
    FIELDS(DBR_TOLD_COMPONENT, "M*G12*S1*3*", "M|G12|S1|3");
    FIELDS(DBR_TOLD_PRODUCT, "C*B*M*", "C|B|M");
}

Test(decoding_identification, empty_fields_keep_their_places)
{
    FIELDS(DBR_TOLD_ECU, "*S1**meter***", "|S1||meter||");
    FIELDS(DBR_TOLD_COMPONENT, "**S1**", "||S1|");
}

Test(decoding_identification, the_last_delimiter_may_be_missing)
{
    FIELDS(DBR_TOLD_COMPONENT, "M*G12*S1*3", "M|G12|S1|3");
    FIELDS(DBR_TOLD_COMPONENT, "M*G12*S1", "M|G12|S1");
    FIELDS(DBR_TOLD_COMPONENT, "M*G12*S1*3*\xFF\xFF\xFF", "M|G12|S1|3"); /* padding is no field */
    FIELDS(DBR_TOLD_COMPONENT, "M*G12*\0\0", "M|G12");
    FIELDS(DBR_TOLD_COMPONENT, "M*   ", "M");
}

Test(decoding_identification, padding_is_left_out)
{
    FIELDS(DBR_TOLD_COMPONENT, "M  *  G12\xFF\xFF*\0S1\0*\xFF\xFF\xFF*", "M|G12|S1|");
    FIELDS(DBR_TOLD_COMPONENT, "granule spreader*", "granule spreader");
}

Test(decoding_identification, nothing_is_told_by_padding_alone)
{
    FIELDS(DBR_TOLD_COMPONENT, "\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF", "");
    FIELDS(DBR_TOLD_COMPONENT, "****", "|||");
    FIELDS(DBR_TOLD_COMPONENT, "", "");
    FIELDS(DBR_TOLD_SOFTWARE, "\x02", "");
    FIELDS(DBR_TOLD_SOFTWARE, "", "");
    FIELDS(DBR_TOLD_FUNCTIONALITIES, "", "");
    FIELDS(DBR_TOLD_INFORMATION, "\x34\x08", "");
}

Test(decoding_identification, fields_beyond_the_defined_ones_are_counted)
{
    FIELDS(DBR_TOLD_PRODUCT, "C*B*M*x*y*", "C|B|M");
    cr_expect_eq(told.beyond, 2);
    dbr_told_read(&told, DBR_TOLD_SOFTWARE, (const uint8_t *)"\x12" "1*2*3*4*5*6*7*8*9*a*b*c*d*e*f*g*h*i*",
                  37);
    cr_expect_eq(told.text_count, DBR_TOLD_FIELDS_MAX);
    cr_expect_eq(told.beyond, 2);
}

/* The count in byte 1 is a hint: what is there, counts. */
Test(decoding_identification, software_fields)
{
    FIELDS(DBR_TOLD_SOFTWARE, "\x02" "2.1*0.9*", "2.1|0.9");
    FIELDS(DBR_TOLD_SOFTWARE, "\x01" "boot 3*main 2.1.0", "boot 3|main 2.1.0");
    FIELDS(DBR_TOLD_SOFTWARE, "\xFF" "2.1*", "2.1");
}

/* ISO 8859-1, and UTF-8 where it is well-formed; never both in one text. */
Test(decoding_identification, letters_beyond_ascii)
{
    FIELDS(DBR_TOLD_COMPONENT, "D\xFCnger*", "D\xC3\xBCnger");
    FIELDS(DBR_TOLD_COMPONENT, "D\xC3\xBCnger*", "D\xC3\xBCnger");
    FIELDS(DBR_TOLD_COMPONENT, "D\xFCnger \xC3\xBC*", "D\xC3\xBCnger \xC3\x83\xC2\xBC");
    FIELDS(DBR_TOLD_COMPONENT, "\xE2\x82\xAC 5*", "\xE2\x82\xAC 5");
}

/* A field of so many bytes ends where it ends; a lone first byte may be a letter of ISO 8859-1. */
Test(decoding_identification, a_last_character_that_the_field_cuts_makes_no_other_alphabet)
{
    FIELDS(DBR_TOLD_COMPONENT, "D\xC3\xBCnger 5 \xE2\x82*", "D\xC3\xBCnger 5 " GONE GONE);
    FIELDS(DBR_TOLD_COMPONENT, "\xC3\xA4\xF0\x9F\x9A*", "\xC3\xA4" GONE GONE GONE);
    FIELDS(DBR_TOLD_COMPONENT, "\xC3\xA4\xF0\x9F" "e*", "\xC3\x83\xC2\xA4\xC3\xB0" GONE "e");
    FIELDS(DBR_TOLD_COMPONENT, "Caf\xE9*", "Caf\xC3\xA9");
    FIELDS(DBR_TOLD_COMPONENT, "D\xC3\xBCnger\xE0\x80*", /* no character begins so */
           "D\xC3\x83\xC2\xBCnger\xC3\xA0" GONE);
}

Test(decoding_identification, hostile_bytes_are_replaced)
{
    FIELDS(DBR_TOLD_COMPONENT, "a\033[31mb*", "a" GONE "[31mb");
    FIELDS(DBR_TOLD_COMPONENT, "a\nb\rc\td*", "a" GONE "b" GONE "c" GONE "d");
    FIELDS(DBR_TOLD_COMPONENT, "a\x9B" "31mb*", "a" GONE "31mb"); /* C1 in ISO 8859-1 */
    FIELDS(DBR_TOLD_COMPONENT, "a\xC2\x9B" "31mb*", "a" GONE "31mb"); /* C1 in UTF-8 */
    FIELDS(DBR_TOLD_COMPONENT, "a\xE2\x80\xAE" "b*", "a" GONE "b"); /* right-to-left override */
    FIELDS(DBR_TOLD_COMPONENT, "a\0b*", "a" GONE "b");
    FIELDS(DBR_TOLD_COMPONENT, "a\x7F" "b*", "a" GONE "b");
}

/* A text of 64 KiB, as only the extended protocol carries it. */
Test(decoding_identification, an_overlong_text_is_cut_at_a_whole_character_and_said)
{
    static uint8_t data[65536];

    memset(data, 0xFC, sizeof data); /* u with diaeresis: two bytes of UTF-8 each */
    cr_assert(dbr_told_read(&told, DBR_TOLD_ECU, data, sizeof data));
    cr_expect(told.cut);
    cr_expect_eq(told.text_count, 1);
    cr_expect_eq(strlen(told.texts[0]), 254);
    data[300] = '*';
    data[303] = '*';
    cr_assert(dbr_told_read(&told, DBR_TOLD_ECU, data, 304)); /* the next field is whole */
    cr_expect_eq(told.text_count, 2);
    cr_expect_str_eq(told.texts[1], "\xC3\xBC\xC3\xBC");
    memset(data, '*', sizeof data);
    data[0] = 'a';
    cr_assert(dbr_told_read(&told, DBR_TOLD_ECU, data, sizeof data));
    cr_expect_eq(told.beyond, 65536 - 1 - 6);
}

/* 200 characters: the longest that the standard allows. */
Test(decoding_identification, the_longest_regular_text_is_kept)
{
    uint8_t data[201];

    memset(data, 'x', 200);
    data[200] = '*';
    cr_assert(dbr_told_read(&told, DBR_TOLD_COMPONENT, data, sizeof data));
    cr_expect_not(told.cut);
    cr_expect_eq(strlen(told.texts[0]), 200);
}

static void fill_fixed(uint8_t *at, const char *text, uint8_t padding)
{
    memset(at, padding, 32);
    memcpy(at, text, strlen(text));
}

Test(decoding_identification, product_information_has_fixed_widths)
{
    uint8_t data[134] = {0x34, 0x08, 0x67, 0x12};

    fill_fixed(data + 4, "Heading sensor", 0xFF);
    fill_fixed(data + 36, "2.14.0", 0x00);
    fill_fixed(data + 68, "B", ' ');
    fill_fixed(data + 100, "", 0xFF);
    memcpy(data + 36 + 7, "junk", 4); /* behind the end of the text */
    cr_assert(dbr_told_read(&told, DBR_TOLD_INFORMATION, data, sizeof data));
    cr_expect_eq(told.product_code, 0x1267);
    cr_expect_eq(told.text_count, 4);
    cr_expect_str_eq(told.texts[DBR_INFORMATION_MODEL], "Heading sensor");
    cr_expect_str_eq(told.texts[DBR_INFORMATION_SOFTWARE], "2.14.0");
    cr_expect_str_eq(told.texts[DBR_INFORMATION_VERSION], "B");
    cr_expect_str_eq(told.texts[DBR_INFORMATION_SERIAL], "");
    cr_assert(dbr_told_read(&told, DBR_TOLD_INFORMATION, data, 67)); /* cut in the second text */
    cr_expect_eq(told.text_count, 1);
    memset(data, 0xFF, sizeof data);
    cr_expect_not(dbr_told_read(&told, DBR_TOLD_INFORMATION, data, sizeof data));
    cr_expect_eq(told.product_code, -1);
}

Test(decoding_identification, functionalities_with_options)
{
    static const uint8_t data[] = {0xFF, 3, 0, 1, 0, 12, 2, 2, 8, 96, 200, 1, 0};

    cr_assert(dbr_told_read(&told, DBR_TOLD_FUNCTIONALITIES, data, sizeof data));
    cr_assert_eq(told.functionality_count, 3);
    cr_expect_eq(told.functionalities[1].code, 12);
    cr_expect_eq(told.functionalities[1].generation, 2);
    cr_expect_eq(told.functionalities[2].code, 200);
    cr_expect_str_eq(dbr_functionality_words(12), "task controller with sections (client)");
    cr_expect_str_eq(dbr_functionality_words(18), "file server (client)");
    cr_expect_null(dbr_functionality_words(19));
    cr_expect_null(dbr_functionality_words(255));
}

Test(decoding_identification, a_broken_list_of_functionalities_gives_what_is_whole)
{
    static const uint8_t options_cut[] = {0xFF, 2, 0, 1, 0, 12, 2, 200, 8};
    static const uint8_t fewer[] = {0xFF, 200, 0, 1, 0};
    static const uint8_t more[] = {0xFF, 1, 0, 1, 0, 12, 2, 0};

    cr_assert(dbr_told_read(&told, DBR_TOLD_FUNCTIONALITIES, options_cut, sizeof options_cut));
    cr_expect_eq(told.functionality_count, 1);
    cr_assert(dbr_told_read(&told, DBR_TOLD_FUNCTIONALITIES, fewer, sizeof fewer));
    cr_expect_eq(told.functionality_count, 1);
    cr_assert(dbr_told_read(&told, DBR_TOLD_FUNCTIONALITIES, more, sizeof more));
    cr_expect_eq(told.functionality_count, 1);
}

/* Its own name: designator, product, component, type; whichever is there first. */
Test(decoding_identification, what_it_calls_itself)
{
    struct dbr_told ecu = {0}, component = {0}, product = {0};
    struct dbr_identity identity = {0};

    cr_expect_null(dbr_identity_name(NULL));
    cr_expect_null(dbr_identity_name(&identity));
    dbr_told_read(&ecu, DBR_TOLD_ECU, (const uint8_t *)"P*S*L*type*", 11);
    identity.told[DBR_TOLD_ECU] = &ecu;
    cr_expect_str_eq(dbr_identity_name(&identity), "type");
    dbr_told_read(&component, DBR_TOLD_COMPONENT, (const uint8_t *)"make**S*", 8);
    identity.told[DBR_TOLD_COMPONENT] = &component; /* tells no model */
    cr_expect_str_eq(dbr_identity_name(&identity), "type");
    dbr_told_read(&component, DBR_TOLD_COMPONENT, (const uint8_t *)"make*model*", 11);
    cr_expect_str_eq(dbr_identity_name(&identity), "model");
    dbr_told_read(&product, DBR_TOLD_PRODUCT, (const uint8_t *)"C*B*product*", 12);
    identity.told[DBR_TOLD_PRODUCT] = &product;
    cr_expect_str_eq(dbr_identity_name(&identity), "product");
    memcpy(identity.designator, "Spreader", 9);
    cr_expect_str_eq(dbr_identity_name(&identity), "Spreader");
}

/* Well-formed UTF-8 without controls, by RFC 3629's ranges and not by the code under test. */
static bool is_harmless(const char *text)
{
    const unsigned char *c = (const unsigned char *)text;

    while (*c) {
        unsigned more = *c < 0x80 ? 0 : *c < 0xC2 ? 9 : *c < 0xE0 ? 1 : *c < 0xF0 ? 2 : *c < 0xF5 ? 3 : 9;
        if (*c < 0x20 || *c == 0x7F || more == 9 || (*c == 0xC2 && c[1] < 0xA0))
            return false;
        for (c++; more > 0; more--, c++)
            if ((*c & 0xC0) != 0x80)
                return false;
    }
    return true;
}

/* Whatever bytes come, in whatever group: texts stay harmless and end within their room. */
Test(decoding_identification, no_bytes_make_a_harmful_text)
{
    static uint8_t data[700];
    uint64_t state = 88172645463325252u; /* xorshift: Marsaglia, 2003 */

    for (unsigned round = 0; round < 20000; round++) {
        size_t length = 0;
        for (; length < sizeof data; length++) {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            data[length] = (uint8_t)(round % 2 ? state : state % 3 ? '*' + state % 90 : state);
            if (state >> 32 == 0 || (state & 0x3FF) < 3)
                break;
        }
        dbr_told_read(&told, (enum dbr_told_group)(round % DBR_TOLD_GROUPS), data, length);
        cr_assert_leq(told.text_count, DBR_TOLD_FIELDS_MAX);
        cr_assert_leq(told.functionality_count, DBR_FUNCTIONALITIES_MAX);
        for (size_t i = 0; i < told.text_count; i++) {
            cr_assert_lt(strlen(told.texts[i]), DBR_TOLD_TEXT_MAX);
            cr_assert(is_harmless(told.texts[i]), "round %u", round);
        }
    }
}
