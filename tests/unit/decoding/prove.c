/* Worked examples that do not hold, and what is said of them. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/definitions.h"
#include "support/proven.h"

static void check(const char *expect, const char *expected_reason)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    struct dbr_error error = {0};
    char text[800], expected[200];

    snprintf(text, sizeof text,
             "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"t\",\"messages\":["
             "{\"pgn\":65280,\"name\":\"m\",\"signals\":["
             "{\"name\":\"v\",\"byte\":1,\"bits\":8,\"scale\":0.5,\"unit\":\"km/h\"},"
             "{\"name\":\"s\",\"byte\":2,\"bits\":2,\"states\":{\"0\":\"off\",\"1\":\"on\",\"2\":"
             "\"error\"}},"
             "{\"name\":\"w\",\"byte\":3,\"bits\":8}],"
             "\"examples\":[{\"data\":\"0AFD\",\"expect\":{%s},\"source\":\"x\"}]}]}",
             expect);
    cr_assert_eq(dbr_definitions_load_text(definitions, "own.json", text, strlen(text), &error), 0,
                 "%s", error.text);
    int result = message_prove(dbr_definitions_find(definitions, 65280, 0, NULL, NULL), &error);
    snprintf(expected, sizeof expected, "own.json: PGN 65280, example 1: %s",
             expected_reason ? expected_reason : "");
    cr_expect_eq(result, expected_reason ? -1 : 0, "%s: %s", expect, error.text);
    if (expected_reason)
        cr_expect_str_eq(error.text, expected);
    dbr_definitions_free(definitions);
}

Test(decoding_prove, what_holds)
{
    check("\"v\":5", NULL);
    check("\"v\":5.25", NULL); /* to half a step */
    check("\"s\":\"on\"", NULL);
    check("\"s\":1", NULL);
    check("\"w\":\"absent\"", NULL);
}

Test(decoding_prove, what_does_not)
{
    check("\"v\":5.26", "\"v\" is 5 km/h, expected was 5.26 km/h");
    check("\"v\":\"not_available\"", "\"v\" is 5 km/h, expected was not_available");
    check("\"s\":\"off\"", "\"s\" is \"on\", expected was \"off\"");
    check("\"s\":\"error\"", "\"s\" is \"on\", expected was \"error\"");
    check("\"s\":3", "\"s\" is \"on\", expected was raw 3");
    check("\"w\":0", "\"w\" is absent, expected was 0");
    check("\"v\":5,\"w\":\"error\"", "\"w\" is absent, expected was error");
}
