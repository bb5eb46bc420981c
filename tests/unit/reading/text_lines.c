/* Lines of text that hold no frame: which count, which do not, and why each was rejected. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "support/readout.h"

static const struct {
    const char *line;
    enum dbr_rejection why;
} unsound[] = {
    {"hello", DBR_REJECTION_NOT_A_FRAME},
    {"(1717000000.123456)", DBR_REJECTION_NOT_A_FRAME},
    {"(1717000000.123456) can0", DBR_REJECTION_NOT_A_FRAME},
    {"(1717000000.123456) can0 18FEF100", DBR_REJECTION_NOT_A_FRAME},
    {"can0 123 11 22", DBR_REJECTION_NOT_A_FRAME},
    {"  can0  RX - -", DBR_REJECTION_NOT_A_FRAME},
    {"(171700000x.123456) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(1717000000.) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(.5) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(-1.5) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"() can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(1717000000.123456 can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(17170000000.5) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(1.1234567890) can0 123#11", DBR_REJECTION_BAD_STAMP},
    {"(9999999999.0) can0 123#11", DBR_REJECTION_BAD_STAMP}, /* beyond the year 2262 */
    {" (2024-06-31 08:13:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2023-02-29 08:13:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2024-13-01 08:13:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2024-00-01 08:13:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2024-06-10 24:13:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2024-06-10 08:60:20.1)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {" (2024-06-10 08:13)  can0  123   [1]  11", DBR_REJECTION_BAD_STAMP},
    {"(1717000000.123456) can0 12#11", DBR_REJECTION_BAD_ID},
    {"(1717000000.123456) can0 1234#11", DBR_REJECTION_BAD_ID},
    {"(1717000000.123456) can0 12G#11", DBR_REJECTION_BAD_ID},
    {"(1717000000.123456) can0 #11", DBR_REJECTION_BAD_ID},
    {"(1717000000.123456) can0 118FEF100#11", DBR_REJECTION_BAD_ID},
    {"can0 18FEF10Z [1] 11", DBR_REJECTION_BAD_ID},
    {"(1717000000.123456) can0 800#11", DBR_REJECTION_ID_RANGE},
    {"(1717000000.123456) can0 FFF#11", DBR_REJECTION_ID_RANGE},
    {"(1717000000.123456) can0 98FEF100#11", DBR_REJECTION_ID_RANGE},
    {"(1717000000.123456) can0 58FEF100#11", DBR_REJECTION_ID_RANGE},
    {"(1717000000.123456) can0 123#1", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#112", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11zz", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11.", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#.11", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11..22", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11 X", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11 R R", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#11 22", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123##", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123##x11", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123##011 22", DBR_REJECTION_BAD_DATA},
    {"can0 123 [2] 11 GG", DBR_REJECTION_BAD_DATA},
    {"can0 123 [2] 11 2", DBR_REJECTION_BAD_DATA},
    {"can0 123 [1] 11 words", DBR_REJECTION_BAD_DATA},
    {"(1717000000.123456) can0 123#112233445566778899", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#1122334455667788_8", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#1122334455667788_", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#11223344556677_9", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#R9", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#Rx", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123#R7_9", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [2] 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [2] 11 22 33", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [9] 11 22 33 44 55 66 77 88 99", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [9] remote request", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [] 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [x] 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [001] 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [00001] 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 [1 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 {G} 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 {12} 11", DBR_REJECTION_BAD_LENGTH},
    {"can0 123 {B} 11 22", DBR_REJECTION_BAD_LENGTH},
    {"(1717000000.123456) can0 123##0112233445566778899", DBR_REJECTION_FD_LENGTH},
    {"can0 123 [09] 11 22 33 44 55 66 77 88 99", DBR_REJECTION_FD_LENGTH},
    {"can0 123 [99] 11", DBR_REJECTION_FD_LENGTH},
    {"can0 123 [8] 00 00 00 00 00 00 00 00 ERRORFRAME", DBR_REJECTION_FLAGS},
    {"(1717000000.123456) can0 45000123#81:00:12345678#1122", DBR_REJECTION_CAN_XL},
    {"(1717000000.123456) can0 00123#81:00:12345678#11223344", DBR_REJECTION_CAN_XL},
    {"can0 123 [0003] 11 22 33", DBR_REJECTION_CAN_XL},
};

/* The third line of three, and no last line: the place is that line's. */
Test(reading_text, every_rejection_names_its_reason_and_line)
{
    char text[512];

    for (size_t i = 0; i < sizeof unsound / sizeof unsound[0]; i++) {
        snprintf(text, sizeof text, "(1.0) can0 001#\n\n%s\n(2.0) can0 002#\n", unsound[i].line);
        struct readout *r = readout_text(text);
        cr_assert_eq(r->result, 0, "%s: %s", unsound[i].line, r->error.text);
        cr_expect_eq(r->file->frames, 2, "%s", unsound[i].line);
        cr_expect_eq(r->file->records, 3, "%s", unsound[i].line);
        cr_expect_eq(r->file->rejections[unsound[i].why].count, 1, "%s", unsound[i].line);
        cr_expect_eq(r->file->rejections[unsound[i].why].first_at, 3, "%s", unsound[i].line);
        cr_expect_not(r->file->truncated);
        readout_free(r);
    }
}

Test(reading_text, all_of_them_in_one_file)
{
    struct bytes text = {0};
    uint64_t counts[DBR_REJECTION_COUNT] = {0}, first[DBR_REJECTION_COUNT] = {0};
    const size_t count = sizeof unsound / sizeof unsound[0];

    bytes_text(&text, "(1.0) can0 001#\n");
    for (size_t i = 0; i < count; i++) {
        bytes_text(&text, "%s\n", unsound[i].line);
        if (counts[unsound[i].why]++ == 0)
            first[unsound[i].why] = i + 2;
    }
    struct readout *r = readout_bytes(&text);
    cr_assert_eq(r->file->rejected, count);
    for (int why = 0; why < DBR_REJECTION_COUNT; why++)
        readout_expect_rejected(r, (enum dbr_rejection)why, counts[why], first[why]);
    readout_free(r);
    bytes_free(&text);
}

Test(reading_text, blank_lines_and_comments_are_no_records)
{
    struct readout *r = readout_text("# recorded by hand\r\n\n   \t \r\n(1.0) can0 001#\n"
                                     "  # (1.5) can0 001#\n\r\n(2.0) can0 002#\n#\n\n");

    readout_expect_sound(r, 2);
    cr_expect_eq(r->file->records, 2);
    readout_free(r);
}

Test(reading_text, a_long_comment_is_still_a_comment)
{
    struct bytes text = {0};

    bytes_text(&text, "(1.0) can0 001#\n#");
    bytes_repeat(&text, '=', 3 * DBR_LINE_MAX);
    bytes_text(&text, "\n");
    bytes_repeat(&text, ' ', 2 * DBR_LINE_MAX);
    bytes_text(&text, "\n(2.0) can0 002#\n");
    struct readout *r = readout_bytes(&text);
    readout_expect_sound(r, 2);
    readout_free(r);
    bytes_free(&text);
}

Test(reading_text, a_byte_order_mark_is_passed_over)
{
    struct readout *r = readout_text("\xEF\xBB\xBF(1.0) can0 001#\n(2.0) can0 002#\n");

    readout_expect_sound(r, 2);
    cr_expect_str_eq(r->info->interfaces[0], "can0");
    readout_free(r);
}

static const char explained[] =
    "  can0  20000204   [8]  00 04 00 00 00 00 60 00   ERRORFRAME\n"
    "\tcontroller-problem{rx-error-warning}\n"
    "\terror-counter-tx-rx{{96}{0}}\n"
    "  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n"
    "\tprotocol-violation{{frame-format-error}{}}\n"
    "\tbus-error\n"
    "  can0  123   [1]  11\n";

Test(reading_text, the_explanation_of_an_error_frame_is_no_record)
{
    struct readout *r = readout_text(explained);

    readout_expect_sound(r, 3);
    cr_expect_eq(r->file->records, 3);
    readout_free(r);
}

Test(reading_text, the_same_lines_elsewhere_are_rejected)
{
    struct readout *r = readout_text("  can0  123   [1]  11\n\tbus-error\n"
                                     "  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n"
                                     "\tbus-error\nbus-error\n  can0  124   [1]  11\n"
                                     "\tbus-error\n");

    cr_expect_eq(r->file->frames, 3);
    readout_expect_rejected(r, DBR_REJECTION_NOT_A_FRAME, 3, 2);
    readout_free(r);
}

Test(reading_text, a_damaged_frame_after_an_error_frame_is_no_explanation)
{
    struct readout *r =
        readout_text("  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n"
                     "  can0  12   [1]  11\n"
                     "  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n"
                     " (1.5)  can0\n  can0  123   [1]  11\n");

    readout_expect_rejected(r, DBR_REJECTION_BAD_ID, 1, 2);
    readout_expect_rejected(r, DBR_REJECTION_NOT_A_FRAME, 1, 4);
    readout_free(r);
}

Test(reading_text, a_last_line_that_is_cut_is_told)
{
    static const char *const cuts[] = {"(1717000000.1234", "(1717000000.123456) ca",
                                       "(1717000000.123456) can0 18FEF1",
                                       "(1717000000.123456) can0 18FEF100#FF0"};
    char text[256];

    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        snprintf(text, sizeof text, "(1717000000.000000) can0 001#\n%s", cuts[i]);
        struct readout *r = readout_text(text);
        cr_expect_eq(r->file->frames, 1, "%s", cuts[i]);
        readout_expect_rejected(r, DBR_REJECTION_LINE_CUT, 1, 2);
        cr_expect(r->file->truncated, "%s", cuts[i]);
        cr_expect_str_eq(r->file->truncated_why, "line 2 is cut short");
        readout_free(r);
    }
}

Test(reading_text, a_line_without_end_is_one_rejection)
{
    struct bytes text = {0};

    bytes_text(&text, "(1.0) can0 001#\n(1.5) can0 002#");
    bytes_repeat(&text, '1', 3 * DBR_STREAM_WINDOW);
    bytes_text(&text, "\n(2.0) can0 003#\n");
    struct readout *r = readout_bytes(&text);
    cr_expect_eq(r->file->frames, 2);
    readout_expect_rejected(r, DBR_REJECTION_LINE_LENGTH, 1, 2);
    readout_free(r);
    bytes_free(&text);
}

/* A line just within and just beyond the ceiling: blanks at its end do not matter until then. */
Test(reading_text, the_ceiling_of_a_line)
{
    static const char frame[] = "(1.5) can0 002#11";

    for (size_t length = DBR_LINE_MAX - 2; length <= DBR_LINE_MAX + 1; length++) {
        struct bytes text = {0};
        bytes_text(&text, "(1.0) can0 001#\n%s", frame);
        bytes_repeat(&text, ' ', length - strlen(frame));
        bytes_text(&text, "\n(2.0) can0 003#\n");
        struct readout *r = readout_bytes(&text);
        readout_expect_rejected(r, DBR_REJECTION_LINE_LENGTH, length >= DBR_LINE_MAX,
                                length >= DBR_LINE_MAX ? 2 : 0);
        cr_expect_eq(r->file->frames, length >= DBR_LINE_MAX ? 2 : 3);
        readout_free(r);
        bytes_free(&text);
    }
}

/* A logger that lost power leaves zeros behind; what came before them counts. */
Test(reading_text, zero_bytes_are_rejected_not_taken_for_an_end)
{
    static const size_t zeros[] = {1, 100, 2 * DBR_LINE_MAX, 2 * DBR_STREAM_WINDOW};

    for (size_t i = 0; i < sizeof zeros / sizeof zeros[0]; i++) {
        struct bytes text = {0};
        bytes_text(&text, "(1.0) can0 001#\n");
        bytes_repeat(&text, 0, zeros[i]);
        bytes_text(&text, "\n(2.0) can0 002#\n");
        struct readout *r = readout_bytes(&text);
        cr_expect_eq(r->result, 0, "%s", r->error.text);
        cr_expect_eq(r->file->frames, 2);
        cr_expect_eq(r->file->rejected, 1);
        readout_free(r);
        bytes_free(&text);
    }
}

Test(reading_text, a_zero_byte_inside_a_frame_spoils_that_frame_only)
{
    static const char content[] = "(1.0) can0 001#11\n(1.5) can0 0\0" "2#11\n(1.6) can0 002#1\0"
                                  "\n(2.0) can0 003#11\n";
    struct bytes text = {0};

    bytes_add(&text, content, sizeof content - 1);
    struct readout *r = readout_bytes(&text);
    cr_expect_eq(r->file->frames, 2);
    readout_expect_rejected(r, DBR_REJECTION_BAD_ID, 1, 2);
    readout_expect_rejected(r, DBR_REJECTION_BAD_DATA, 1, 3);
    readout_free(r);
    bytes_free(&text);
}

Test(reading_text, more_interfaces_than_can_be_told_apart)
{
    struct bytes text = {0};

    for (unsigned i = 0; i < 70; i++)
        bytes_text(&text, "(%u.0) can%u 001#\n", i + 1, i);
    bytes_text(&text, "(99.0) can69 002#\n(99.5) can0 003#\n");
    struct readout *r = readout_bytes(&text);
    cr_expect_eq(r->info->interface_count, DBR_INTERFACES_MAX);
    cr_expect_eq(r->file->frames, DBR_INTERFACES_MAX + 1);
    readout_expect_rejected(r, DBR_REJECTION_INTERFACES, 70 - DBR_INTERFACES_MAX + 1,
                            DBR_INTERFACES_MAX + 1);
    cr_expect_str_eq(r->info->interfaces[r->frames[r->count - 1].interface], "can0");
    readout_free(r);
    bytes_free(&text);
}

Test(reading_text, a_very_long_interface_name_is_cut)
{
    struct bytes text = {0};

    bytes_text(&text, "(1.0) ");
    bytes_repeat(&text, 'x', 200);
    bytes_text(&text, " 001#\n(2.0) can0 001#\n");
    struct readout *r = readout_bytes(&text);
    readout_expect_sound(r, 2);
    cr_expect_eq(strlen(r->info->interfaces[0]), DBR_INTERFACE_NAME_MAX - 1);
    cr_expect_str_eq(r->info->interfaces[1], "can0");
    readout_free(r);
    bytes_free(&text);
}

Test(reading_text, text_without_any_frame_says_what_was_wrong_first)
{
    struct readout *r = readout_text("\nDear colleague,\nplease find enclosed\n");

    cr_assert_eq(r->result, -1);
    cr_expect_eq(r->error.code, DBR_ERROR_FORMAT);
    cr_expect_not_null(strstr(r->error.text, "line 2"), "%s", r->error.text);
    readout_free(r);
}

Test(reading_text, only_comments_hold_nothing)
{
    struct readout *r = readout_text("# a comment\n\n");

    cr_assert_eq(r->result, -1);
    cr_expect_eq(r->error.code, DBR_ERROR_EMPTY);
    readout_free(r);
}
