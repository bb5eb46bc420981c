/*
 * What verifying tells of definition files: every mistake, at its place, and none twice.
 *
 * In the documents below '@' stands before each place that must be pointed to, in
 * the order of the text; the marks are taken out before the document is verified.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drawbar/limits.h"
#include "drawbar/verify.h"

#define HEAD                                                                                       \
    "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\n"                     \
    "\"states\":{\"switch\":{\"0\":\"off\",\"1\":\"on\",\"2\":\"error\",\"3\":\"none\"}},\n"       \
    "\"messages\":[\n"
#define TAIL "\n]}"
#define MESSAGE "{\"pgn\":65280,\"name\":\"m\",\"length\":8,\"signals\":[\n"
#define EXAMPLES "],\n\"examples\":[{\"data\":\"01\",\"expect\":{"
#define EXAMPLES_APART ",\"examples\":[{\"data\":\"01\",\"source\":\"by hand\"}]}"
#define SOURCE "},\"source\":\"by hand\"}]}"

#define HEARD_MAX 16u /* mistakes whose text is kept */

struct heard {
    size_t count;
    char texts[HEARD_MAX][DBR_ERROR_TEXT_SIZE];
};

static struct dbr_verify *verify;
static struct heard heard;
static struct dbr_error error;

static void hear(void *context, const struct dbr_error *mistake)
{
    struct heard *h = context;

    if (h->count < HEARD_MAX)
        memcpy(h->texts[h->count], mistake->text, DBR_ERROR_TEXT_SIZE);
    h->count++;
}

static void set_up(void)
{
    memset(&heard, 0, sizeof heard);
    verify = dbr_verify_new(hear, &heard, &error);
    cr_assert_not_null(verify);
}

static void tear_down(void)
{
    dbr_verify_free(verify);
}

TestSuite(decoding_verify, .init = set_up, .fini = tear_down);

/* Takes the marks out of `text`, and notes "line:column" of each. */
static size_t take_marks(char *text, char places[][24])
{
    size_t line = 1, column = 1, count = 0;
    char *out = text;

    for (const char *in = text; *in; in++) {
        if (*in == '@') {
            cr_assert_lt(count, HEARD_MAX);
            snprintf(places[count++], 24, "%zu:%zu", line, column);
            continue;
        }
        column = *in == '\n' ? 1 : column + 1;
        line += *in == '\n';
        *out++ = *in;
    }
    *out = '\0';
    return count;
}

static bool told(const char *place, const char *reason)
{
    char first_line[300];

    int length = snprintf(first_line, sizeof first_line, "f.json:%s: %s\n", place, reason);
    for (size_t i = 0; i < heard.count && i < HEARD_MAX; i++)
        if (strncmp(heard.texts[i], first_line, (size_t)length) == 0)
            return true;
    return false;
}

/* `reasons` are those of the marks, in their order; nothing else is told. */
static void check(const char *marked, const char *const *reasons)
{
    char places[HEARD_MAX][24];
    char *text = strdup(marked);
    size_t count = take_marks(text, places), before = dbr_verify_counts(verify)->mistakes;

    heard.count = 0;
    cr_assert_eq(dbr_verify_text(verify, "f.json", text, strlen(text), &error), 0);
    for (size_t i = 0; i < count; i++)
        cr_expect(told(places[i], reasons[i]), "not told at %s: %s", places[i], reasons[i]);
    for (size_t i = 0; i < heard.count && i < HEARD_MAX; i++)
        cr_expect(heard.count == count, "of %zu: %s", count, heard.texts[i]);
    cr_expect_eq(heard.count, count);
    cr_expect_eq(dbr_verify_counts(verify)->mistakes - before, count);
    free(text);
}

static void check_one(const char *marked, const char *reason)
{
    check(marked, &reason);
}

Test(decoding_verify, a_sound_file_is_counted)
{
    static const char text[] =
        HEAD "{\"pgn\":65280,\"pgn_last\":65283,\"name\":\"valve {n}\",\"length\":8,\"signals\":["
             "{\"name\":\"a\",\"byte\":1,\"bits\":2,\"states\":\"switch\"},"
             "{\"name\":\"b\",\"byte\":2,\"bits\":8,\"range\":[0,250]}" EXAMPLES
             "\"a\":\"on\",\"b\":\"absent\"" SOURCE TAIL;

    check(text, NULL);
    const struct dbr_verify_counts *counts = dbr_verify_counts(verify);
    cr_expect_eq(counts->messages, 4);
    cr_expect_eq(counts->signals, 2);
    cr_expect_eq(counts->examples, 1);
    cr_expect_eq(counts->mistakes, 0);
}

Test(decoding_verify, the_built_in_definitions_are_sound)
{
    cr_assert_eq(dbr_verify_builtin(verify, &error), 0);
    cr_expect_eq(heard.count, 0, "%s", heard.texts[0]);
    cr_expect_gt(dbr_verify_counts(verify)->messages, 100);
}

Test(decoding_verify, text_that_is_no_json)
{
    static const char more[] = "{} \0{}";

    check_one("{\"schema\": @nonsense}", "not valid JSON from here on");
    cr_assert_eq(dbr_verify_text(verify, "f.json", more, sizeof more - 1, &error), 0);
    cr_expect(told("1:4", "the JSON document ended before this"), "%s", heard.texts[1]);
}

Test(decoding_verify, a_message_without_an_example)
{
    static const char reason[] =
        "no example proves this message: add data, what it says, and where that is from";

    check_one(HEAD "@" MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8}]}" TAIL, reason);
    check_one(HEAD MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8}],\"examples\":@[]}" TAIL,
              reason);
}

/* A name and no more: nothing is said that could be wrong, but why is to be said. */
Test(decoding_verify, a_message_without_signals_says_why)
{
    static const char *const not_read[] = {
        "the program does not read PGN 65280 apart",
    };

    check_one(HEAD "{\"pgn\":65280,\"name\":\"m\",\"signals\":@[]}" TAIL,
              "no signals: add some, or say in name_only why a name is all that is known");
    check(HEAD MESSAGE "],\"read_apart\":@true" EXAMPLES_APART TAIL, not_read);
    check_one(HEAD MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8}],"
                   "\"name_only\":@\"unknown\"}" TAIL,
              "a message with a name only has no content");
    check(HEAD MESSAGE "],\"name_only\":\"seen, not known\"}" TAIL, NULL);
}

Test(decoding_verify, an_example_that_does_not_hold)
{
    static const char *const reasons[] = {
        "this example does not hold: \"a\" is 0.5 km/h, expected was 1 km/h",
        "this example does not hold: \"s\" is \"on\", expected was \"off\""};

    check(HEAD MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":8,\"scale\":0.5,\"unit\":\"km/h\"},\n"
                       "{\"name\":\"s\",\"byte\":1,\"bits\":2,\"states\":\"switch\","
                       "\"overlaps\":true}" EXAMPLES "\"a\":@1,\n\"s\":@\"off\"" SOURCE TAIL,
          reasons);
}

Test(decoding_verify, a_range_beyond_what_the_bits_carry)
{
    static const struct {
        char signal[64], expect[12], reason[64];
    } rows[] = {
        {"\"bits\":8,\"scale\":0.4,\"range\":@[0,101]", "0.4",
         "its 8 bits carry values from 0 to 100 only"},
        {"\"bits\":8,\"offset\":-125,\"range\":@[-130,125]", "-124",
         "its 8 bits carry values from -125 to 125 only"},
        {"\"bits\":16,\"range\":@[0,65535]", "\"absent\"",
         "its 16 bits carry values from 0 to 64255 only"},
        {"\"bits\":16,\"special\":\"none\",\"range\":[0,65535]", "\"absent\"", ""},
        {"\"bits\":16,\"special\":\"nmea2000\",\"range\":@[0,65535]", "\"absent\"",
         "its 16 bits carry values from 0 to 65533 only"},
        {"\"bits\":8,\"special\":\"nmea2000\",\"signed\":true,\"range\":@[-129,125]", "1",
         "its 8 bits carry values from -128 to 125 only"},
        {"\"bits\":2,\"range\":@[0,3]", "1", "its 2 bits carry values from 0 to 1 only"},
        {"\"bits\":5,\"range\":[0,30]", "1", ""},
        {"\"bits\":1,\"range\":[0,1]", "1", ""},
        {"\"bits\":8,\"scale\":-1,\"range\":@[-251,0]", "-1",
         "its 8 bits carry values from -250 to 0 only"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[4096];
        snprintf(text, sizeof text,
                 HEAD MESSAGE "{\"name\":\"a\",\"byte\":1,%s}" EXAMPLES "\"a\":%s" SOURCE TAIL,
                 rows[i].signal, rows[i].expect);
        dbr_verify_free(verify); /* each document alone: all define one group */
        set_up();
        check_one(text, rows[i].reason);
    }
}

Test(decoding_verify, a_role_that_is_judged_by_its_raw_value)
{
    static const char *const reasons[] = {
        "role work.state is judged by the raw value: \"scale\" has no place here",
        "role direction.implement is judged by the raw value: \"offset\" has no place here"};

    check(HEAD MESSAGE
          "{\"name\":\"a\",\"byte\":1,\"bits\":2,@\"scale\":2,\"role\":\"work.state\"},\n"
          "{\"name\":\"b\",\"byte\":2,\"bits\":2,@\"offset\":1,\"role\":\"direction.implement\"}"
          EXAMPLES "\"b\":\"absent\"" SOURCE TAIL,
          reasons);
}

Test(decoding_verify, one_group_twice)
{
    static const char first[] = HEAD "{\"pgn\":65280,\"name\":\"m\",\"signals\":["
                                     "{\"name\":\"a\",\"byte\":1,\"bits\":8}" EXAMPLES
                                     "\"a\":1" SOURCE TAIL;
    static const char second[] = HEAD "{\"pgn\":@65280,\"name\":\"m\",\"signals\":["
                                      "{\"name\":\"a\",\"byte\":1,\"bits\":8}" EXAMPLES
                                      "\"a\":1" SOURCE TAIL;

    cr_assert_eq(dbr_verify_text(verify, "e.json", first, strlen(first), &error), 0);
    check_one(second, "PGN 65280 is defined in e.json already, for the same senders");
}

Test(decoding_verify, ranges_of_groups)
{
#define RANGE(pgn, last, name)                                                                     \
    "{\"pgn\":" pgn ",\"pgn_last\":" last ",\"name\":" name ",\"signals\":["                       \
    "{\"name\":\"a\",\"byte\":1,\"bits\":8}" EXAMPLES "\"a\":1" SOURCE
    static const char *const reasons[] = {
        "the name of a range needs {n}, where each message has its number",
        "PGN 65042 is defined above already, for the same senders"};

    check(HEAD RANGE("65040", "65042", "@\"valve\"") ",\n"
          RANGE("@65042", "65044", "\"valve {n}\"") TAIL, reasons);
    check_one(HEAD RANGE("65040", "@65039", "\"v{n}\"") TAIL,
              "\"pgn_last\" must be a whole number from 65040 to 65279");
    check_one(HEAD RANGE("65040", "@65280", "\"v{n}\"") TAIL,
              "\"pgn_last\" must be a whole number from 65040 to 65279");
    check_one(HEAD RANGE("61184", "@61185", "\"v{n}\"") TAIL,
              "below PDU format 240 the low byte of a PGN is 0: it is the destination");
}

Test(decoding_verify, shared_states)
{
    static const char *const reasons[] = {
        "\"states\" at the head of this file holds no \"swich\"",
        "\"switch\" has states beyond the 1 bits of this signal"};

    check(HEAD MESSAGE "{\"name\":\"a\",\"byte\":1,\"bits\":2,\"states\":@\"swich\"},\n"
                       "{\"name\":\"b\",\"byte\":2,\"bits\":1,\"states\":@\"switch\"}" EXAMPLES
                       "\"a\":\"on\"" SOURCE TAIL,
          reasons);
}

/* Each mistake once, and nothing that only follows from one. */
/* A state that is no text, and an example that expects one: the mistake is told, once. */
Test(decoding_verify, a_state_that_is_no_text)
{
    static const char signal[] = HEAD MESSAGE
        "{\"name\":\"a\",\"byte\":1,\"bits\":2,\"states\":{\"0\":@5,\"1\":\"on\"}}" EXAMPLES
        "\"a\":\"on\"" SOURCE TAIL;
    static const char shared[] =
        "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\n"
        "\"states\":{\"switch\":{\"0\":@[],\"1\":\"on\"}},\"messages\":[\n" MESSAGE
        "{\"name\":\"a\",\"byte\":1,\"bits\":2,\"states\":\"switch\"}" EXAMPLES
        "\"a\":\"on\"" SOURCE TAIL;

    check_one(signal, "a state must be a text that is not empty");
    check_one(shared, "a state must be a text that is not empty");
}

Test(decoding_verify, all_mistakes_of_a_file_and_no_echoes)
{
    static const char *const reasons[] = {
        "\"perid_ms\" is not a known key here",
        "\"length\" must be a whole number from 1 to 8",
        "\"byte\" must be a whole number from 1 to 1785",
        "\"scale\" must not be 0",
        "\"speed.warp\" is not a role",
        "\"name\" is missing in this object",
        "its bits belong to \"b\" (\"overlaps\": true would allow it)",
        "\"data\" must be hexadecimal digits without blanks",
        "\"source\" is missing in this object",
        "\"pgn\" must be a whole number from 0 to 262143",
        "the message has no signal \"x\"",
        "an object { } must stand here"};

    check(HEAD "{\"pgn\":65280,\"name\":\"m\",@\"perid_ms\":1,\"length\":@9,\"signals\":[\n"
               "{\"name\":\"a\",\"byte\":@0,\"bits\":8,\"scale\":@0,\"role\":@\"speed.warp\"},\n"
               "{\"name\":\"b\",\"byte\":2,\"bits\":8},\n"
               "@{\"byte\":3,\"bits\":8},\n"
               "{\"name\":\"d\",\"byte\":@2,\"bits\":8}],\n"
               "\"examples\":[{\"data\":@\"0g\",\"expect\":{\"b\":1,\"c\":2},\"source\":\"s\"},\n"
               "@{\"data\":\"0102\",\"expect\":{\"a\":99}}]},\n"
               "{\"pgn\":@-1,\"name\":\"n\",\"signals\":[{\"name\":\"a\",\"byte\":1,\"bits\":8}"
               EXAMPLES "@\"x\":1" SOURCE ",\n@7" TAIL,
          reasons);
}

Test(decoding_verify, what_exceeds_the_ceiling_is_counted)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    fputs(HEAD "7", out);
    for (unsigned i = 1; i < 300; i++)
        fputs(",7", out); /* each should be an object */
    fputs(TAIL, out);
    fclose(out);
    cr_assert_eq(dbr_verify_text(verify, "f.json", text, strlen(text), &error), 0);
    cr_expect_eq(heard.count, DBR_MISTAKES_TOLD_MAX);
    cr_expect_eq(dbr_verify_counts(verify)->mistakes, 300);
    cr_expect_eq(dbr_verify_counts(verify)->untold, 300 - DBR_MISTAKES_TOLD_MAX);
    free(text);
}

/* 60 ranges of 256 groups are more than may be in force. */
Test(decoding_verify, ranges_have_a_ceiling)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    fputs(HEAD, out);
    for (unsigned i = 0; i < 60; i++) {
        unsigned first = 0xF000u + 0x100u * (i & 15u) + 0x10000u * (i >> 4);
        fprintf(out, "%s{\"pgn\":%u,\"pgn_last\":%u,\"name\":\"m{n}\",\"name_only\":\"x\","
                     "\"signals\":[]}",
                i > 0 ? "," : "", first, first + 255u);
    }
    fputs(TAIL, out);
    fclose(out);
    cr_assert_eq(dbr_verify_text(verify, "f.json", text, strlen(text), &error), 0);
    cr_expect_eq(heard.count, 1);
    cr_expect(strstr(heard.texts[0], "more than 8192 message definitions"), "%s", heard.texts[0]);
    free(text);
}

Test(decoding_verify, what_cannot_be_read)
{
    char directory[] = "/tmp/drawbar-verify-XXXXXX";

    cr_assert_eq(dbr_verify_file(verify, "/nowhere/a.json", &error), -1);
    cr_expect_str_eq(error.text, "/nowhere/a.json: No such file or directory");
    cr_assert_not_null(mkdtemp(directory));
    cr_expect_eq(dbr_verify_directory(verify, directory, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_EMPTY);
    rmdir(directory);
    cr_expect_eq(dbr_verify_counts(verify)->mistakes, 0);
}
