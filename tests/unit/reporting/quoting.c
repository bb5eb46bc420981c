/* How texts stand in tables (RFC 4180; formulas: common practice, no source) and in JSON (RFC 8259). */
#include <criterion/criterion.h>
#include <string.h>

#include "reporting/print_lines.h"

static void expect_quoted(print_quote *quote, const char *text, const char *expected)
{
    char out[256];
    size_t length = quote(out, text);

    cr_assert_leq(length, strlen(text) * QUOTE_GROWTH + QUOTE_MORE, "%s", text);
    out[length] = '\0';
    cr_expect_str_eq(out, expected);
}

Test(reporting_quoting, no_cell_is_a_formula_whatever_the_spreadsheet_splits_at)
{
    static const char *const rows[][2] = {
        {"Wheel speed", "Wheel speed"},
        {"a,b", "\"a,b\""},
        {"say \"no\"", "\"say \"\"no\"\"\""},
        {"=1+1", "'=1+1"},
        {"+1", "'+1"},
        {"-1", "'-1"},
        {"@SUM(1)", "'@SUM(1)"},
        {"1-2=3", "1-2=3"},
        {" =1", "\"' =1\""},
        {"\"=1\"", "\"'\"\"=1\"\"\""},
        {"a;=1", "\"a;'=1\""},
        {"a;b", "\"a;b\""},
        {"; \"-1;+2", "\";' \"\"-1;'+2\""},
        {";;;@", "\";;;'@\""},
        {"\xEF\xBC\x9D" "1", "'\xEF\xBC\x9D" "1"}, /* = + - @ of full width */
        {"a;\xEF\xBC\xA0", "\"a;'\xEF\xBC\xA0\""},
        {"", ""},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect_quoted(print_quote_csv, rows[i][0], rows[i][1]);
}

Test(reporting_quoting, json_escapes_what_would_end_a_text)
{
    expect_quoted(print_quote_json, "a\"b\\", "\"a\\\"b\\\\\"");
    expect_quoted(print_quote_json, "\"\"", "\"\\\"\\\"\"");
}
