/* Every form of candump-style text. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/temporary.h"

static void assert_frame(const struct dbr_frame *f, uint32_t id, unsigned flags, unsigned length,
                         const char *data)
{
    cr_assert_eq(f->id, id, "%X instead of %X", f->id, id);
    cr_assert_eq(f->flags, flags, "flags %X instead of %X", f->flags, flags);
    cr_assert_eq(f->length, length);
    for (unsigned i = 0; data && i < length; i++)
        cr_assert_eq(f->data[i], (uint8_t)data[i], "byte %u of %X", i, id);
}

Test(reading_text, one_line_of_each_form)
{
    static const struct {
        char line[160];
        uint32_t id;
        unsigned flags, length;
        char data[16];
    } rows[] = {
        {"(1.000000) can0 18FEF100#0102030405060708", 0x18FEF100, DBR_FRAME_EXTENDED, 8,
         "\1\2\3\4\5\6\7\10"},
        {"(1.000000) can0 18fef100#ffee", 0x18FEF100, DBR_FRAME_EXTENDED, 2, "\xFF\xEE"},
        {"(1.000000) can0 123#", 0x123, 0, 0, ""},
        {"(1.000000) can0 00000123#AA", 0x123, DBR_FRAME_EXTENDED, 1, "\xAA"},
        {"(1.000000) can0 123#11.22.33", 0x123, 0, 3, "\x11\x22\x33"},
        {"(1.000000) can0 123#R", 0x123, DBR_FRAME_REMOTE, 0, ""},
        {"(1.000000) can0 123#r7", 0x123, DBR_FRAME_REMOTE, 7, ""},
        {"(1.000000) can0 123#AA R", 0x123, 0, 1, "\xAA"},
        {"(1.000000) can0 123#AA T", 0x123, DBR_FRAME_SENT, 1, "\xAA"},
        {"(1.000000) can0 123##1AABB", 0x123, DBR_FRAME_FD | DBR_FRAME_BRS, 2, "\xAA\xBB"},
        {"(1.000000) can0 123##6000102030405060708090A0B", 0x123, DBR_FRAME_FD | DBR_FRAME_ESI, 12,
         "\0\1\2\3\4\5\6\7\10\11\12\13"},
        {"(1.000000) can0 20000080#0000000000000000", 0x80, DBR_FRAME_ERROR, 8,
         "\0\0\0\0\0\0\0\0"},
        {"(1.000000) 0 123#AA", 0x123, 0, 1, "\xAA"},
        {"  can0  18FEF100   [3]  11 22 33", 0x18FEF100, DBR_FRAME_EXTENDED, 3, "\x11\x22\x33"},
        {"  can0       123   [0]", 0x123, 0, 0, ""},
        {"  can0       123   [2]  41 42   'AB'", 0x123, 0, 2, "AB"},
        {"  can0       123   [3]  33`22`11   '3\"'", 0x123, 0, 3, "\x11\x22\x33"},
        {"  can0       123   [4]  remote request", 0x123, DBR_FRAME_REMOTE, 4, ""},
        {"  can0       123  [03]  11 22 33", 0x123, DBR_FRAME_FD, 3, "\x11\x22\x33"},
        {"  can0  20000004   [8]  00 08 00 00 00 00 60 00   ERRORFRAME", 0x4, DBR_FRAME_ERROR, 8,
         "\0\10\0\0\0\0\x60\0"},
        {" (2024-06-10 08:13:20.123456)  can0  RX - -  123   [1]  AA", 0x123, 0, 1, "\xAA"},
        {" (1.5)  can0  TX B E  123  [02]  AA BB", 0x123,
         DBR_FRAME_FD | DBR_FRAME_SENT | DBR_FRAME_BRS | DBR_FRAME_ESI, 2, "\xAA\xBB"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct readout *r = read_text(rows[i].line);
        cr_assert_eq(r->result, 0, "%s: %s", rows[i].line, r->error.text);
        cr_assert_eq(r->count, 1, "%s", rows[i].line);
        assert_frame(&r->frames[0], rows[i].id, rows[i].flags, rows[i].length, rows[i].data);
    }
}

Test(reading_text, raw_length_codes_are_kept)
{
    const struct readout *r = read_text("(1.0) can0 123#0102030405060708_B\n"
                                        "(1.1)  can0  123   {E}  01 02 03 04 05 06 07 08\n");

    cr_assert_eq(r->count, 2);
    cr_assert_eq(r->frames[0].raw_dlc, 0xB);
    cr_assert_eq(r->frames[0].length, 8);
    cr_assert_eq(r->frames[1].raw_dlc, 0xE);
}

Test(reading_text, each_reason_of_rejection_with_its_line)
{
    static const struct {
        char line[160];
        enum dbr_rejection why;
    } rows[] = {
        {"(1.0) can0", DBR_REJECTION_NOT_A_FRAME},
        {"hello there my friend", DBR_REJECTION_NOT_A_FRAME},
        {"(1.0x) can0 123#AA", DBR_REJECTION_BAD_STAMP},
        {"(-1.0) can0 123#AA", DBR_REJECTION_BAD_STAMP},
        {"(2024-13-10 08:13:20) can0 123 [1] AA", DBR_REJECTION_BAD_STAMP},
        {"(2024-02-30 08:13:20) can0 123 [1] AA", DBR_REJECTION_BAD_STAMP},
        {"(99999999999.0) can0 123#AA", DBR_REJECTION_BAD_STAMP},
        {"(1.0) can0 12#AA", DBR_REJECTION_BAD_ID},
        {"(1.0) can0 12345#AA", DBR_REJECTION_BAD_ID},
        {"(1.0) can0 12G#AA", DBR_REJECTION_BAD_ID},
        {"(1.0) can0 800#AA", DBR_REJECTION_ID_RANGE},
        {"(1.0) can0 80000000#AA", DBR_REJECTION_ID_RANGE},
        {"(1.0) can0 123#A", DBR_REJECTION_BAD_DATA},
        {"(1.0) can0 123#AG", DBR_REJECTION_BAD_DATA},
        {"(1.0) can0 123#AA X", DBR_REJECTION_BAD_DATA},
        {"(1.0) can0 123#010203040506070809", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123#0102_B", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123#R9", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123##0010203040506070809", DBR_REJECTION_FD_LENGTH},
        {"(1.0) can0 123 [2] AA", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123 [1] AA BB", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123 [9] 01 02 03 04 05 06 07 08 09", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123 [] AA", DBR_REJECTION_BAD_LENGTH},
        {"(1.0) can0 123 [1] AA ERRORFRAME", DBR_REJECTION_FLAGS},
        {"(1.0) can0 123 [0004] 01 02 03 04", DBR_REJECTION_CAN_XL},
        {"(1.0) can0 00123#81:00:12345678#11223344", DBR_REJECTION_CAN_XL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[8192];
        snprintf(text, sizeof text, "# comment\n(0.5) can0 123#AA\n%s\n(2.0) can0 123#BB\n",
                 rows[i].line);
        const struct readout *r = read_text(text);
        cr_assert_eq(r->count, 2, "%s", rows[i].line);
        cr_assert_eq(r->files[0].rejections[rows[i].why].count, 1, "%s", rows[i].line);
        cr_assert_eq(r->files[0].rejections[rows[i].why].first_at, 3, "%s", rows[i].line);
    }
}

Test(reading_text, lines_that_hold_no_frame_are_no_records)
{
    const struct readout *r = read_text("\xEF\xBB\xBF# candump can0\r\n"
                                        "\r\n"
                                        "   \n"
                                        "  can0  123   [1]  AA\r\n"
                                        "  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\r\n"
                                        "\tprotocol-violation{{frame-format-error}{}}\r\n"
                                        "\tbus-error\r\n"
                                        "  can0  123   [1]  BB");

    cr_assert_eq(r->files[0].records, 3);
    cr_assert_eq(r->files[0].rejected, 0);
    cr_assert_eq(r->count, 3);
}

Test(reading_text, an_indented_line_that_follows_no_error_frame_is_a_record)
{
    const struct readout *r = read_text("  can0  123   [1]  AA\n\tbus-error\n  can0  123   [1]  BB\n");

    cr_assert_eq(r->files[0].rejected, 1);
}

Test(reading_text, a_damaged_frame_after_an_error_frame_is_not_taken_for_its_explanation)
{
    const struct readout *r =
        read_text("  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n"
                  "  can0  123   [2]  AA\n");

    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_BAD_LENGTH].count, 1);
}

static void assert_times(const struct readout *r, const double *seconds, size_t count)
{
    cr_assert_eq(r->count, count);
    for (size_t i = 0; i < count; i++)
        cr_assert_float_eq((double)r->frames[i].at_ns / 1e9, seconds[i], 1e-9, "frame %zu: %f", i,
                           (double)r->frames[i].at_ns / 1e9);
}

Test(reading_text, time_stamps_of_every_kind)
{
    const struct readout *r;

    r = read_text("(1717000000.123456) can0 123#AA\n(1717000001.623456) can0 123#AA\n");
    cr_assert_eq(r->info.time_base, DBR_TIME_EPOCH);
    cr_assert_eq(r->info.start_ns, 1717000000123456000);
    assert_times(r, (double[]){0, 1.5}, 2);

    r = read_text(" (2024-02-29 23:59:59.5)  can0  123   [1]  AA\n"
                  " (2024-03-01 00:00:00.25)  can0  123   [1]  AA\n");
    cr_assert_eq(r->info.time_base, DBR_TIME_EPOCH);
    cr_assert_eq(r->info.start_ns, 1709251199500000000); /* date -u -d '2024-02-29 23:59:59' +%s */
    assert_times(r, (double[]){0, 0.75}, 2);

    r = read_text(" (000.000000)  can0  123   [1]  AA\n (000.500000)  can0  123   [1]  AA\n"
                  " (012.345678)  can0  123   [1]  AA\n");
    cr_assert_eq(r->info.time_base, DBR_TIME_RELATIVE);
    assert_times(r, (double[]){0, 0.5, 12.345678}, 3);

    r = read_text(" (000.000000)  can0  123   [1]  AA\n (000.010012)  can0  123   [1]  AA\n"
                  " (000.000500)  can0  123   [1]  AA\n (000.100000)  can0  123   [1]  AA\n"
                  " (000.010000)  can0  123   [1]  AA\n");
    cr_assert_eq(r->info.time_base, DBR_TIME_RELATIVE);
    assert_times(r, (double[]){0, 0.010012, 0.010512, 0.110512, 0.120512}, 5);

    r = read_text("  can0  123   [1]  AA\n  can0  123   [1]  AA\n");
    cr_assert_eq(r->info.time_base, DBR_TIME_NONE);
    assert_times(r, (double[]){0, 0}, 2);
}

Test(reading_text, differences_that_hardly_differ_are_still_differences)
{
    char text[8192] = " (000.000000)  can0  123   [1]  AA\n";

    for (int i = 1; i < 100; i++)
        sprintf(text + strlen(text), " (000.1000%02d)  can0  123   [1]  AA\n", i * 7 % 5);
    const struct readout *r = read_text(text);
    cr_assert_float_eq((double)r->info.last_ns / 1e9, 9.9, 0.01);
}

Test(reading_text, a_zero_based_clock_that_steps_back_once_is_no_difference)
{
    char text[8192] = "";

    for (int i = 0; i < 100; i++)
        sprintf(text + strlen(text), " (%03d.000000)  can0  123   [1]  AA\n",
                i < 50 ? i : i - 10);
    const struct readout *r = read_text(text);
    cr_assert_eq(r->info.clock_steps, 1);
    cr_assert_float_eq((double)r->info.largest_step_ns / 1e9, 9.0, 1e-9);
    /* the step is taken out: 49 s before it, none in it, 49 s after */
    cr_assert_float_eq((double)r->info.last_ns / 1e9, 98.0, 1e-9);
}

Test(reading_text, a_little_disorder_of_two_interfaces_is_no_clock_step)
{
    const struct readout *r = read_text("(1.000000) can0 123#AA\n(1.002000) can0 123#AA\n"
                                        "(1.001500) can1 123#AA\n(1.003000) can0 123#AA\n");

    cr_assert_eq(r->info.clock_steps, 0);
    assert_times(r, (double[]){0, 0.002, 0.002, 0.003}, 4);
}

Test(reading_text, a_line_of_a_megabyte_is_one_rejection)
{
    size_t length = 1000000;
    char *text = malloc(length + 64);
    size_t used = (size_t)sprintf(text, "(1.0) can0 123#AA\n");

    memset(text + used, 'A', length);
    strcpy(text + used + length, "\n(2.0) can0 123#BB\n");
    const struct readout *r = read_content(text, strlen(text));
    cr_assert_eq(r->count, 2);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_LINE_LENGTH].count, 1);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_LINE_LENGTH].first_at, 2);
    free(text);
}

Test(reading_text, a_last_line_without_feed_counts_when_whole_and_is_a_cut_when_not)
{
    const struct readout *r = read_text("(1.0) can0 123#AA\n(2.0) can0 123#BB");
    cr_assert_eq(r->count, 2);
    cr_assert_not(r->files[0].truncated);

    r = read_text("(1.0) can0 123#AA\n(2.0) can0 123#BBC");
    cr_assert_eq(r->count, 1);
    cr_assert(r->files[0].truncated);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_LINE_CUT].first_at, 2);
}

Test(reading_text, garbage_before_and_between_hides_no_frame)
{
    const struct readout *r = read_text("logger v2 started\nbattery ok\n(1.0) can0 123#AA\n"
                                        "\x01\x02\x03\n(2.0) can0 123#BB\n");

    cr_assert_eq(r->count, 2);
    cr_assert_eq(r->files[0].rejected, 3);
}

Test(reading_text, more_interfaces_than_can_be_told_apart_are_counted)
{
    char text[8192] = "";

    for (int i = 0; i < 70; i++)
        sprintf(text + strlen(text), "(%d.0) vcan%d 123#AA\n", i, i);
    const struct readout *r = read_text(text);
    cr_assert_eq(r->info.interface_count, DBR_INTERFACES_MAX);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_INTERFACES].count, 70 - DBR_INTERFACES_MAX);
}

Test(reading_text, a_sent_frame_and_its_echo_are_one_frame_on_the_bus)
{
    const struct readout *r = read_text("(1.000000) can0 18FEF100#AA T\n"
                                        "(1.000600) can0 18FEF100#AA R\n"
                                        "(1.100000) can0 18FEF100#AA R\n"
                                        "(1.200000) can0 18FEF100#BB T\n"
                                        "(3.000000) can0 18FEF100#BB R\n");

    cr_assert_eq(r->info.copies, 1);
    cr_assert(r->frames[1].flags & DBR_FRAME_COPY);
    cr_assert_not(r->frames[2].flags & DBR_FRAME_COPY);
    cr_assert_not(r->frames[4].flags & DBR_FRAME_COPY);
}
