/*
 * Every complaint of the definitions loader, with the place that it shows.
 *
 * In the documents below '@' stands before the place where the error must point
 * to; it is taken out before the document is loaded. What is expected is the
 * whole text: path, line, column, reason, the quoted line and its caret.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/definitions.h"

#define PATH "field.json"

struct row {
    const char *marked;
    const char *reason;
};

static char *without_mark(const char *marked, size_t *offset)
{
    const char *mark = strchr(marked, '@');
    char *text = malloc(strlen(marked));

    cr_assert_not_null(mark, "no mark in %s", marked);
    *offset = (size_t)(mark - marked);
    memcpy(text, marked, *offset);
    memcpy(text + *offset, mark + 1, strlen(mark + 1) + 1);
    return text;
}

/* The whole error text for a place in a document of short ASCII lines. */
static void expected_text(const char *text, size_t offset, const char *reason, char *out,
                          size_t size)
{
    size_t line = 1, start = 0;

    for (size_t i = 0; i < offset; i++)
        if (text[i] == '\n') {
            line++;
            start = i + 1;
        }
    snprintf(out, size, PATH ":%zu:%zu: %s\n%.*s\n%*s^", line, offset - start + 1, reason,
             (int)strcspn(text + start, "\n"), text + start, (int)(offset - start), "");
}

static void check_document(const char *marked, const char *reason, enum dbr_error_code code)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    size_t before = dbr_definitions_count(definitions), offset;
    char *text = without_mark(marked, &offset);
    char expected[DBR_ERROR_TEXT_SIZE];
    struct dbr_error error = {0};

    expected_text(text, offset, reason, expected, sizeof expected);
    cr_expect_eq(dbr_definitions_load_text(definitions, PATH, text, strlen(text), &error), -1,
                 "was accepted: %s", text);
    cr_expect_eq(error.code, code, "%s", error.text);
    cr_expect_str_eq(error.text, expected);
    cr_expect_eq(dbr_definitions_count(definitions), before, "something was added: %s", text);
    free(text);
    dbr_definitions_free(definitions);
}

/* Puts what stands in a row between `head` and `tail`, so that rows hold what matters. */
static void check_rows(const char *head, const struct row *rows, size_t count, const char *tail)
{
    for (size_t i = 0; i < count; i++) {
        char document[1024];
        snprintf(document, sizeof document, "%s%s%s", head, rows[i].marked, tail);
        check_document(document, rows[i].reason, DBR_ERROR_SCHEMA);
    }
}

#define CHECK_ROWS(head, rows, tail) check_rows(head, rows, sizeof rows / sizeof rows[0], tail)

#define DOCUMENT                                                                                   \
    "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\"messages\":[\n"
#define MESSAGE DOCUMENT "{\"pgn\":65280,\"name\":\"m\",\"length\":8,\"signals\":[\n"

Test(decoding_load_errors, text_that_is_no_json)
{
    static const char *const reason = "not valid JSON from here on";

    check_document("{\"schema\":\n  @nonsense}", reason, DBR_ERROR_SYNTAX);
    check_document("{\"schema\" @1}", reason, DBR_ERROR_SYNTAX);
    check_document("{\"a\":1,@}", reason, DBR_ERROR_SYNTAX);
    check_document("{\"a\":1}\n@{}", "the JSON document ended before this", DBR_ERROR_SYNTAX);
    check_document("[] @]", "the JSON document ended before this", DBR_ERROR_SYNTAX);
}

Test(decoding_load_errors, the_document)
{
    static const struct row rows[] = {
        {"@[]", "an object { } must stand here"},
        {"@{}", "\"schema\" is missing in this object"},
        {"{\"schema\":@\"drawbar-messages/2\"}", "the schema must be \"drawbar-messages/1\""},
        {"{\"schema\":@1}", "\"schema\" must be a text that is not empty"},
        {"@{\"schema\":\"drawbar-messages/1\"}", "\"subject\" is missing in this object"},
        {"{\"schema\":\"drawbar-messages/1\",\"subject\":@\"\"}",
         "\"subject\" must be a text that is not empty"},
        {"@{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\"}",
         "\"source\" is missing in this object"},
        {"@{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\"}",
         "\"messages\" is missing in this object"},
        {"{\"schema\":\"drawbar-messages/"
         "1\",\"subject\":\"s\",\"source\":\"t\",\n\"messages\":@{}}",
         "\"messages\" must be an array [ ]"},
        {"{\"schema\":\"drawbar-messages/1\",\n @\"Subject\":\"s\"}",
         "\"Subject\" is not a known key here"},
        {"{\"schema\":\"drawbar-messages/1\",\n @\"schema\":\"drawbar-messages/1\"}",
         "\"schema\" stands here for the second time"},
    };
    CHECK_ROWS("", rows, "");
}

Test(decoding_load_errors, messages)
{
    static const struct row rows[] = {
        {"@7", "an object { } must stand here"},
        {"{@\"pgm\":1}", "\"pgm\" is not a known key here"},
        {"@{\"name\":\"m\"}", "\"pgn\" is missing in this object"},
        {"{\"pgn\":@\"65280\"}", "\"pgn\" must be a whole number from 0 to 262143"},
        {"{\"pgn\":@262144}", "\"pgn\" must be a whole number from 0 to 262143"},
        {"{\"pgn\":@-1}", "\"pgn\" must be a whole number from 0 to 262143"},
        {"{\"pgn\":@1.5}", "\"pgn\" must be a whole number from 0 to 262143"},
        {"{\"pgn\":@61185}",
         "below PDU format 240 the low byte of a PGN is 0: it is the destination"},
        {"@{\"pgn\":65280}", "\"name\" is missing in this object"},
        {"{\"pgn\":65280,\"name\":@5}", "\"name\" must be a text that is not empty"},
        {"{\"pgn\":65280,\"name\":\"m\",\"period_ms\":@0}",
         "\"period_ms\" must be a whole number from 1 to 3600000"},
        {"{\"pgn\":65280,\"name\":\"m\",\"source\":@null}",
         "\"source\" must be a text that is not empty"},
        {"{\"pgn\":65280,\"name\":\"m\",\"note\":@1}", "\"note\" must be a text that is not empty"},
        {"{\"pgn\":65280,\"name\":\"m\",\"packing\":@\"double\"}",
         "\"packing\" must be single, multi or fast"},
        {"{\"pgn\":65280,\"name\":\"m\",\"length\":@9}",
         "\"length\" must be a whole number from 1 to 8"},
        {"{\"pgn\":65280,\"name\":\"m\",\"packing\":\"fast\",\"length\":@224}",
         "\"length\" must be a whole number from 1 to 223"},
        {"{\"pgn\":65280,\"name\":\"m\",\"packing\":\"multi\",\"length\":@1786}",
         "\"length\" must be a whole number from 1 to 1785"},
        {"{\"pgn\":65280,\"name\":\"m\",\"confidence\":@\"high\"}",
         "\"confidence\" must be confirmed or memory"},
        {"{\"pgn\":65280,\"name\":\"m\",\"special\":@\"isobus\"}",
         "\"special\" must be j1939, nmea2000 or none"},
        {"@{\"pgn\":65280,\"name\":\"m\"}", "\"signals\" is missing in this object"},
        {"{\"pgn\":65280,\"name\":\"m\",\"signals\":@{}}", "\"signals\" must be an array [ ]"},
        {"{\"pgn\":65280,\"name\":\"m\",\"signals\":[]},\n{\"pgn\":@65280,\"name\":\"n\","
         "\"signals\":[]}",
         "PGN 65280 is defined above already, for the same senders"},
    };
    CHECK_ROWS(DOCUMENT, rows, "\n]}");
}

Test(decoding_load_errors, conditions)
{
    static const struct row rows[] = {
        {"@[]", "an object { } must stand here"},
        {"{@\"maker\":1}", "\"maker\" is not a known key here"},
        {"{\"address\":@254}", "\"address\" must be a whole number from 0 to 253"},
        {"{\"manufacturer_code\":@2048}",
         "\"manufacturer_code\" must be a whole number from 0 to 2047"},
        {"{\"function\":@256}", "\"function\" must be a whole number from 0 to 255"},
        {"{\"device_class\":@128}", "\"device_class\" must be a whole number from 0 to 127"},
        {"{\"industry_group\":@8}", "\"industry_group\" must be a whole number from 0 to 7"},
        {"{\"identity\":@2097152}", "\"identity\" must be a whole number from 0 to 2097151"},
        {"{\"ecu_instance\":@8}", "\"ecu_instance\" must be a whole number from 0 to 7"},
        {"{\"function_instance\":@32}",
         "\"function_instance\" must be a whole number from 0 to 31"},
        {"{\"device_class_instance\":@16}",
         "\"device_class_instance\" must be a whole number from 0 to 15"},
        {"{\"address\":@-1}", "\"address\" must be a whole number from 0 to 253"},
        {"{\"address\":@\"128\"}", "\"address\" must be a whole number from 0 to 253"},
    };
    CHECK_ROWS(DOCUMENT "{\"pgn\":65280,\"name\":\"m\",\"signals\":[],\n\"when\":", rows, "\n}]}");
}

Test(decoding_load_errors, positions_of_signals)
{
    static const struct row rows[] = {
        {"@\"Speed\"", "an object { } must stand here"},
        {"{@\"start\":1}", "\"start\" is not a known key here"},
        {"@{\"byte\":1,\"bits\":8}", "\"name\" is missing in this object"},
        {"@{\"name\":\"a\",\"bits\":8}", "\"byte\" is missing in this object"},
        {"@{\"name\":\"a\",\"byte\":1}", "\"bits\" is missing in this object"},
        {"{\"name\":\"a\",\"byte\":@0,\"bits\":8}",
         "\"byte\" must be a whole number from 1 to 1785"},
        {"{\"name\":\"a\",\"byte\":1,\"bit\":@9,\"bits\":1}",
         "\"bit\" must be a whole number from 1 to 8"},
        {"{\"name\":\"a\",\"byte\":1,\"bits\":@65}",
         "\"bits\" must be a whole number from 1 to 64"},
        {"{\"name\":\"a\",\"byte\":@8,\"bit\":2,\"bits\":8}",
         "the signal reaches byte 9 of a message of 8 bytes"},
        {"{\"name\":\"a\",\"byte\":1,\"bits\":16},\n{\"name\":\"b\",\"byte\":@2,\"bit\":8,\"bits\":"
         "1}",
         "its bits belong to \"a\" (\"overlaps\": true would allow it)"},
        {"{\"name\":\"a\",\"byte\":1,\"bits\":8},\n{\"name\":@\"a\",\"byte\":2,\"bits\":8}",
         "another signal of this message is called \"a\""},
        {"{\"name\":\"a\",\"byte\":1,\"bits\":8,\"overlaps\":@1}",
         "\"overlaps\" must be true or false"},
    };
    CHECK_ROWS(MESSAGE, rows, "\n]}]}");
}

Test(decoding_load_errors, meanings_of_signals)
{
    static const struct row rows[] = {
        {"\"spn\":@524288", "\"spn\" must be a whole number from 0 to 524287"},
        {"\"scale\":@0", "\"scale\" must not be 0"},
        {"\"scale\":@\"1\"", "\"scale\" must be a number"},
        {"\"offset\":@1e999", "\"offset\" must be a number"},
        {"\"range\":@[1]", "\"range\" must be two numbers, the lower one first"},
        {"\"range\":@[2,1]", "\"range\" must be two numbers, the lower one first"},
        {"\"range\":@3", "\"range\" must be an array [ ]"},
        {"\"role\":@\"speed.warp\"", "\"speed.warp\" is not a role"},
        {"\"role\":\"speed.wheel\",\"unit\":@\"1/min\"",
         "the unit of role speed.wheel must be of a speed: m/s, mm/s, km/h or mph"},
        {"\"role\":\"distance.ground\",\"unit\":@\"m/s\"",
         "the unit of role distance.ground must be of a length: m, mm or km"},
        {"\"role\":\"supply.voltage\",\"unit\":@\"A\"",
         "the unit of role supply.voltage must be of a voltage: V or mV"},
        {"\"special\":@\"none \"", "\"special\" must be j1939, nmea2000 or none"},
        {"\"signed\":@true",
         "a signed signal needs \"special\": \"none\" or \"nmea2000\"; the j1939 rule is for "
         "unsigned ones"},
        {"\"signed\":@\"yes\"", "\"signed\" must be true or false"},
        {"\"confidence\":@\"guess\"", "\"confidence\" must be confirmed or memory"},
        {"\"states\":@[]", "an object { } with at least one member must stand here"},
        {"\"states\":@{}", "an object { } with at least one member must stand here"},
        {"\"states\":{@\"256\":\"x\"}", "\"256\" is not a value of 8 bits, in decimal"},
        {"\"states\":{@\"-1\":\"x\"}", "\"-1\" is not a value of 8 bits, in decimal"},
        {"\"states\":{@\"01\":\"x\"}", "\"01\" is not a value of 8 bits, in decimal"},
        {"\"states\":{@\"0x1\":\"x\"}", "\"0x1\" is not a value of 8 bits, in decimal"},
        {"\"states\":{@\"99999999999999999999\":\"x\"}",
         "\"99999999999999999999\" is not a value of 8 bits, in decimal"},
        {"\"states\":{\"1\":@2}", "a state must be a text that is not empty"},
        {"\"states\":{\"1\":\"x\",\n@\"1\":\"y\"}", "\"1\" stands here for the second time"},
    };
    CHECK_ROWS(MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8,\n", rows, "}\n]}]}");
}

Test(decoding_load_errors, a_role_without_a_unit_points_at_the_signal)
{
    check_document(MESSAGE "@{\"name\":\"a\",\"byte\":1,\"bits\":8,\"role\":\"speed.gnss\"}]}]}",
                   "the unit of role speed.gnss must be of a speed: m/s, mm/s, km/h or mph",
                   DBR_ERROR_SCHEMA);
}

Test(decoding_load_errors, signals_of_messages_without_a_length)
{
    check_document(DOCUMENT "{\"pgn\":65280,\"name\":\"m\",\"signals\":[\n"
                            "{\"name\":\"a\",\"byte\":@9,\"bits\":1}]}]}",
                   "the signal reaches byte 9 of a message of 8 bytes", DBR_ERROR_SCHEMA);
    check_document(DOCUMENT "{\"pgn\":126720,\"name\":\"m\",\"packing\":\"fast\",\"signals\":[\n"
                            "{\"name\":\"a\",\"byte\":@223,\"bits\":9}]}]}",
                   "the signal reaches byte 224 of a message of 223 bytes", DBR_ERROR_SCHEMA);
}

Test(decoding_load_errors, a_state_beyond_64_bits)
{
    check_document(MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":64,\n\"states\":"
                           "{@\"18446744073709551616\":\"x\"}}]}]}",
                   "\"18446744073709551616\" is not a value of 64 bits, in decimal",
                   DBR_ERROR_SCHEMA);
}

Test(decoding_load_errors, examples)
{
    static const struct row rows[] = {
        {"@1", "\"examples\" must be an array [ ]"},
        {"[@1]", "an object { } must stand here"},
        {"[{@\"bytes\":\"00\"}]", "\"bytes\" is not a known key here"},
        {"[@{\"data\":\"00\",\"expect\":{\"a\":0}}]", "\"source\" is missing in this object"},
        {"[@{\"source\":\"s\",\"expect\":{\"a\":0}}]", "\"data\" is missing in this object"},
        {"[{\"source\":\"s\",\"data\":@\"000\"}]",
         "\"data\" must be 1 to 8 whole bytes, two digits each"},
        {"[{\"source\":\"s\",\"data\":@\"000000000000000000\"}]",
         "\"data\" must be 1 to 8 whole bytes, two digits each"},
        {"[{\"source\":\"s\",\"data\":@\"0 \"}]",
         "\"data\" must be hexadecimal digits without blanks"},
        {"[@{\"source\":\"s\",\"data\":\"00\"}]", "\"expect\" is missing in this object"},
        {"[{\"source\":\"s\",\"data\":\"00\",\"expect\":@{}}]",
         "an object { } with at least one member must stand here"},
        {"[{\"source\":\"s\",\"data\":\"00\",\"expect\":{@\"b\":0}}]",
         "the message has no signal \"b\""},
        {"[{\"source\":\"s\",\"data\":\"00\",\"expect\":{\"a\":0,@\"a\":1}}]",
         "\"a\" stands here for the second time"},
        {"[{\"source\":\"s\",\"data\":\"00\",\"expect\":{\"a\":@\"fine\"}}]",
         "expected is a number, the text of a state, or not_available, error, out_of_range or "
         "absent"},
        {"[{\"source\":\"s\",\"data\":\"00\",\"expect\":{\"a\":@null}}]",
         "expected is a number, the text of a state, or not_available, error, out_of_range or "
         "absent"},
    };
    CHECK_ROWS(MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8}],\n\"examples\":", rows, "}]}");
}

/* What the rows above cannot show: text that needs care when it is quoted. */
static void check_quoting(const char *text, const char *expected)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    struct dbr_error error = {0};

    cr_expect_eq(dbr_definitions_load_text(definitions, PATH, text, strlen(text), &error), -1);
    cr_expect_str_eq(error.text, expected);
    dbr_definitions_free(definitions);
}

Test(decoding_load_errors, tabs_are_shown_as_blanks_so_that_the_caret_aligns)
{
    check_quoting("{\n\t\"x\":\t1}", PATH ":2:2: \"x\" is not a known key here\n \"x\": 1}\n ^");
}

Test(decoding_load_errors, a_carriage_return_is_not_quoted)
{
    check_quoting("{\r\n\"x\":1}\r\n", PATH ":2:1: \"x\" is not a known key here\n\"x\":1}\n^");
}

Test(decoding_load_errors, columns_count_characters)
{
    check_quoting("{\"schema\":\"\xC3\xA4\xE2\x82\xAC\",\"x\":1}",
                  PATH ":1:16: \"x\" is not a known key here\n"
                       "{\"schema\":\"\xC3\xA4\xE2\x82\xAC\",\"x\":1}\n               ^");
}

Test(decoding_load_errors, a_byte_order_mark_is_no_value_and_takes_no_column)
{
    check_quoting("\xEF\xBB\xBF[]", PATH ":1:1: an object { } must stand here\n[]\n^");
}

Test(decoding_load_errors, escapes_in_keys_do_not_hide_them)
{
    check_quoting("{\"\\u0078\":1}",
                  PATH ":1:2: \"x\" is not a known key here\n{\"\\u0078\":1}\n ^");
}

#define GONE "\xEF\xBF\xBD" /* U+FFFD */

Test(decoding_load_errors, nothing_steers_a_terminal_and_the_caret_still_aligns)
{
    check_quoting("{\"\\u001b[31m\":1}",
                  PATH ":1:2: \"" GONE "[31m\" is not a known key here\n{\"\\u001b[31m\":1}\n ^");
    check_quoting("{\"\x1B[31m\x7F\xFF\xC2\x9B\":1}",
                  PATH ":1:2: \"" GONE "[31m" GONE GONE GONE "\" is not a known key here\n"
                       "{\"" GONE "[31m" GONE GONE GONE "\":1}\n ^");
    check_quoting("{\"schema\":\"\xE2\x80\xAE\xFF\",\"x\":1}",
                  PATH ":1:16: \"x\" is not a known key here\n{\"schema\":\"" GONE GONE
                       "\",\"x\":1}\n               ^");
}

Test(decoding_load_errors, long_lines_are_cut_around_the_place)
{
    char text[600], expected[600], blanks[201];

    memset(blanks, ' ', 200);
    blanks[200] = '\0';
    snprintf(text, sizeof text, "{%s\"x\":%s1}", blanks, blanks);
    snprintf(expected, sizeof expected,
             PATH ":1:202: \"x\" is not a known key here\n...%.60s\"x\":%.36s...\n   %.60s^",
             blanks, blanks, blanks);
    check_quoting(text, expected);
}

Test(decoding_load_errors, a_long_path_does_not_hide_the_reason)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    struct dbr_error error = {0};
    char path[3000];

    memset(path, 'p', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    cr_expect_eq(dbr_definitions_load_text(definitions, path, "[]", 2, &error), -1);
    cr_expect_not_null(strstr(error.text, "p:1:1: an object { } must stand here\n[]\n^"));
    dbr_definitions_free(definitions);
}

Test(decoding_load_errors, nobody_needs_to_take_the_error)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);

    cr_expect_eq(dbr_definitions_load_text(definitions, PATH, "[]", 2, NULL), -1);
    dbr_definitions_free(definitions);
}
