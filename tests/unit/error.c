/* Errors: what a caller gets, whatever it passes. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/error.h"
#include "text/utf8.h"

Test(error, is_filled_and_returned_as_failure)
{
    struct dbr_error error;

    cr_expect_eq(dbr_error_set(&error, DBR_ERROR_OPEN, "%s: %d", "a.log", 7), -1);
    cr_expect_eq(error.code, DBR_ERROR_OPEN);
    cr_expect_str_eq(error.text, "a.log: 7");
}

Test(error, need_not_be_taken)
{
    cr_expect_eq(dbr_error_set(NULL, DBR_ERROR_OPEN, "%s", "a.log"), -1);
}

Test(error, of_a_text_that_is_too_long_both_ends_stay)
{
    char path[4000];
    struct dbr_error error;

    memset(path, 'p', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    dbr_error_set(&error, DBR_ERROR_READ, "/a/%s/b.log: Permission denied", path);
    cr_expect_eq(strlen(error.text), DBR_ERROR_TEXT_SIZE - 1);
    cr_expect_eq(strncmp(error.text, "/a/ppp", 6), 0, "%s", error.text);
    cr_expect_not_null(strstr(error.text, "ppp...ppp"));
    cr_expect_not_null(strstr(error.text, "ppp/b.log: Permission denied"));
}

Test(error, is_cut_at_whole_characters)
{
    struct dbr_error error;
    char path[3001];

    for (size_t i = 0; i < 3000; i += 3)
        memcpy(path + i, "\xE2\x82\xAC", 4);
    for (int shift = 0; shift < 3; shift++) {
        dbr_error_set(&error, DBR_ERROR_READ, "%.*s%s: no", shift, "ab", path);
        for (const char *at = error.text; *at; at += utf8_length(at))
            cr_assert_gt(utf8_length(at), 0, "%s", error.text);
    }
}

/* A name of a file may hold all but a slash and a NUL (POSIX 3.170). */
Test(error, names_steer_nothing_and_pass_for_no_line_of_their_own)
{
    struct dbr_error error;

    dbr_error_set(&error, DBR_ERROR_OPEN, "%s: no such file",
                  "a\ndrawbar: all is well\r\033[2J\xE2\x80\xAE\xFF");
    cr_expect_str_eq(error.text, "a\xEF\xBF\xBD" "drawbar: all is well\xEF\xBF\xBD\xEF\xBF\xBD[2J"
                                 "\xEF\xBF\xBD\xEF\xBF\xBD: no such file");
}

Test(error, quotes_a_line_with_a_caret_where_there_is_room)
{
    struct dbr_error error;
    char line[DBR_ERROR_TEXT_SIZE];

    dbr_error_set(&error, DBR_ERROR_SCHEMA, "a.json:1:3: no");
    cr_expect_eq(dbr_error_quote(&error, "{ \033x", 2), -1);
    cr_expect_str_eq(error.text, "a.json:1:3: no\n{ \xEF\xBF\xBDx\n  ^");
    memset(line, 'l', sizeof line - 1);
    line[sizeof line - 1] = '\0';
    dbr_error_set(&error, DBR_ERROR_SCHEMA, "a.json:1:3: no");
    dbr_error_quote(&error, line, 2);
    cr_expect_str_eq(error.text, "a.json:1:3: no");
    cr_expect_eq(dbr_error_quote(NULL, "{", 0), -1);
}
