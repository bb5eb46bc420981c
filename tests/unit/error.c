/* Errors: what a caller gets, whatever it passes. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/error.h"

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

Test(error, a_text_that_is_too_long_is_cut)
{
    struct dbr_error error;

    dbr_error_set(&error, DBR_ERROR_READ, "%2000d", 1);
    cr_expect_eq(strlen(error.text), DBR_ERROR_TEXT_SIZE - 1);
}
