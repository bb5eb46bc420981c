/* json_sound.c - what the parser refuses is told from what it had no memory for. */
#include <cjson/cJSON.h>
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/json_sound.h"

static const char *const sound[] = {
    "{}", " [ ] ", "null", "-0.5e+3", "12", "\"\"", "\"a\\n\\\"\\\\\\/\\u00e4\\ud83d\\ude00\"",
    "{\"a\":[1,2.25,{\"b\":null}],\"c\":\"x, y\"}", "[true,false]\n", "\xEF\xBB\xBF{\"a\": 1e-05}",
};

static const char *const unsound[] = {
    "", " ", "{", "[1,]", "[1 2]", "{\"a\"}", "{\"a\":}", "{a:1}", "\"a", "\"\\x\"", "\"\\u12\"",
    "\"\\ude00\"", "\"\\ud83d\"", "\"\\ud83dx\"", "tru", "-", "nothing", "{\"a\":1,}", "'a'",
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
