/* json_sound.c - what the parser refuses is told from what it had no memory for. */
#include <cjson/cJSON.h>
#include <criterion/criterion.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/json_sound.h"

static const char *const sound[] = {
    "{}", " [ ] ", "null", "-0.5e+3", "12", "\"\"", "\"a\\n\\\"\\\\\\/\\u00e4\\ud83d\\ude00\"",
    "{\"a\":[1,2.25,{\"b\":null}],\"c\":\"x, y\"}", "[true,false]\n", "\xEF\xBB\xBF{\"a\": 1e-05}",
    "\xEF\xBB\xBF{}",
};

static const char *const unsound[] = {
    "", " ", "{", "[1,]", "[1 2]", "{\"a\"}", "{\"a\":}", "{a:1}", "\"a", "\"\\x\"", "\"\\u12\"",
    "\"\\ude00\"", "\"\\ud83d\"", "\"\\ud83dx\"", "tru", "-", "nothing", "{\"a\":1,}", "'a'",
    "[.6]", "[-.]", "[1e]", ("\xEF\xBB\xBF" "0"), "\xEF\xBB\xBF", "\xEF\xBB\xBF\xEF\xBB\xBF{}",
};

/* The parser is the measure: with memory enough it gives nothing for mistakes only. */
Test(json_sound, agrees_with_the_parser)
{
    for (size_t i = 0; i < sizeof sound / sizeof sound[0]; i++) {
        cJSON *parsed = cJSON_ParseWithLength(sound[i], strlen(sound[i]));
        cr_assert_not_null(parsed, "%s", sound[i]);
        cr_assert_eq(json_soundness(sound[i], strlen(sound[i])), JSON_SOUND, "%s", sound[i]);
        cJSON_Delete(parsed);
    }
    for (size_t i = 0; i < sizeof unsound / sizeof unsound[0]; i++) {
        cr_assert_null(cJSON_ParseWithLength(unsound[i], strlen(unsound[i])), "%s", unsound[i]);
        cr_assert_eq(json_soundness(unsound[i], strlen(unsound[i])), JSON_UNSOUND, "%s", unsound[i]);
    }
}

Test(json_sound, too_deep_is_no_mistake_of_grammar)
{
    char text[4 * CJSON_NESTING_LIMIT];

    memset(text, '[', sizeof text / 2);
    memset(text + sizeof text / 2, ']', sizeof text / 2);
    cr_assert_null(cJSON_ParseWithLength(text, sizeof text));
    cr_assert_eq(json_soundness(text, sizeof text), JSON_TOO_DEEP);
}

/* Some versions of the parser look at 63 characters of a number and stumble over the rest. */
Test(json_sound, a_number_may_have_so_many_digits)
{
    char text[] = "1111111111111111111111111111111111111111111111111111111111111111";

    cr_assert_eq(json_soundness(text, 63), JSON_SOUND);
    cr_assert_eq(json_soundness(text, 64), JSON_UNSOUND);
}

/* Xorshift, 32 bits: every run tries the same texts. */
static uint32_t next_random(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

static void add(char *text, size_t size, const char *piece)
{
    size_t length = strlen(text);

    snprintf(text + length, size - length, "%s", piece);
}

Test(json_sound, nothing_that_the_parser_refuses_is_called_sound)
{
    static const char *const pieces[] = {"{", "}", "[", "]", ",", ":", "\"", "\"a\"", "\"a\":", "1",
                                         "-", ".", "e", "+", "0", "true", "null", "\\", "u", "d8",
                                         "dc00", " ", "\n", "fals", "9999999999", "\\u", "x"};
    uint32_t state = 2463534242u;
    size_t count = 0;

    for (int round = 0; round < 200000; round++) {
        char text[128] = "[";
        for (uint32_t n = next_random(&state) % 9; n > 0; n--)
            add(text, sizeof text, pieces[next_random(&state) % (sizeof pieces / sizeof pieces[0])]);
        add(text, sizeof text, "]");
        bool called_sound = json_soundness(text, strlen(text)) == JSON_SOUND;
        count += called_sound;
        cJSON *parsed = called_sound ? cJSON_ParseWithLength(text, strlen(text)) : NULL;
        cr_assert(parsed || !called_sound, "%s", text);
        cJSON_Delete(parsed);
    }
    cr_assert_gt(count, 1000, "only %zu were sound", count);
}
