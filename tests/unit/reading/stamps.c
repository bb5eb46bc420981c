/* Time: every kind of stamp, differences told from time, time that never runs backwards. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/readout.h"

#define S INT64_C(1000000000)
#define MS INT64_C(1000000)

/* The times of the frames, in ns since the first. */
static void expect_times(const struct readout *r, const int64_t *times, size_t count)
{
    readout_expect_sound(r, count);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(r->frames[i].at_ns, times[i], "frame %zu: %lld ns", i,
                     (long long)r->frames[i].at_ns);
}

/* One frame of the console form for each stamp. */
static struct readout *read_stamps(const char *const *stamps, size_t count)
{
    struct bytes text = {0};

    for (size_t i = 0; i < count; i++)
        bytes_text(&text, " (%s)  can0  123   [1]  AA\n", stamps[i]);
    struct readout *r = readout_bytes(&text);
    bytes_free(&text);
    return r;
}

#define READ_STAMPS(...)                                                                           \
    read_stamps((const char *const[]){__VA_ARGS__},                                                \
                sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

Test(reading_stamps, seconds_of_the_epoch)
{
    struct readout *r = READ_STAMPS("1717000000.123456", "1717000001.623456");

    cr_assert_eq(r->info->time_base, DBR_TIME_EPOCH);
    cr_assert_eq(r->info->start_ns, INT64_C(1717000000123456000));
    expect_times(r, (const int64_t[]){0, 1500 * MS}, 2);
    cr_assert_eq(r->info->last_ns, 1500 * MS);
    readout_free(r);
}

/* date -u -d '2024-02-29 23:59:59' +%s gives 1709251199. */
Test(reading_stamps, dates)
{
    struct readout *r = READ_STAMPS("2024-02-29 23:59:59.5", "2024-03-01 00:00:00.25",
                                    "2024-03-01T00:00:01");

    cr_assert_eq(r->info->time_base, DBR_TIME_EPOCH);
    cr_assert_eq(r->info->start_ns, 1709251199 * S + 500 * MS);
    expect_times(r, (const int64_t[]){0, 750 * MS, 1500 * MS}, 3);
    readout_free(r);
}

Test(reading_stamps, seconds_from_zero)
{
    struct readout *r = READ_STAMPS("000.000000", "000.500000", "012.345678");

    cr_assert_eq(r->info->time_base, DBR_TIME_RELATIVE);
    expect_times(r, (const int64_t[]){0, 500 * MS, INT64_C(12345678000)}, 3);
    readout_free(r);
}

Test(reading_stamps, seconds_since_power_on)
{
    struct readout *r = READ_STAMPS("4711.5", "4712.0", "4713.0");

    cr_assert_eq(r->info->time_base, DBR_TIME_RELATIVE);
    cr_assert_eq(r->info->start_ns, 4711 * S + 500 * MS);
    expect_times(r, (const int64_t[]){0, 500 * MS, 1500 * MS}, 3);
    readout_free(r);
}

Test(reading_stamps, differences_are_summed)
{
    struct readout *r =
        READ_STAMPS("000.000000", "000.010012", "000.000500", "000.100000", "000.010000");

    cr_assert_eq(r->info->time_base, DBR_TIME_RELATIVE);
    expect_times(r, (const int64_t[]){0, 10012000, 10512000, 110512000, 120512000}, 5);
    readout_free(r);
}

Test(reading_stamps, differences_that_are_all_alike)
{
    struct readout *r =
        READ_STAMPS("000.000000", "000.100000", "000.100000", "000.100000", "000.100000");

    expect_times(r, (const int64_t[]){0, 100 * MS, 200 * MS, 300 * MS, 400 * MS}, 5);
    readout_free(r);
}

/* Long enough for several batches: the sum goes on from one to the next. */
Test(reading_stamps, differences_go_on_through_a_long_file)
{
    struct bytes text = {0};

    bytes_text(&text, " (000.000000)  can0  123   [1]  AA\n");
    for (int i = 1; i < 5000; i++)
        bytes_text(&text, " (000.1000%02d)  can0  123   [1]  AA\n", i * 7 % 5);
    struct readout *r = readout_bytes(&text);
    readout_expect_sound(r, 5000);
    /* 4999 times 0.1 s, and 0 to 4 us in turn: 999 full turns of 10 us, then 2, 4, 1, 3. */
    cr_assert_eq(r->info->last_ns, 4999 * 100 * MS + (999 * 10 + 10) * 1000);
    readout_free(r);
    bytes_free(&text);
}

Test(reading_stamps, no_stamps_are_no_time)
{
    struct readout *r = readout_text("  can0  123   [1]  AA\n  can0  123   [1]  AA\n");

    cr_assert_eq(r->info->time_base, DBR_TIME_NONE);
    expect_times(r, (const int64_t[]){0, 0}, 2);
    cr_assert_eq(r->info->last_ns, 0);
    readout_free(r);
}

/* Neither the frame before the first stamp nor one between makes a gap of half a century. */
Test(reading_stamps, a_frame_without_stamp_among_others_stands_where_its_neighbours_are)
{
    struct readout *r = readout_text("can0 001#\ncan0 002#\n(1717000000.0) can0 003#\n"
                                     "(1717000001.0) can0 004#\ncan0 005#\n(1717000002.0) can0 006#\n");

    cr_assert_eq(r->info->time_base, DBR_TIME_EPOCH);
    cr_assert_eq(r->info->start_ns, 1717000000 * S);
    expect_times(r, (const int64_t[]){0, 0, 0, 1 * S, 1 * S, 2 * S}, 6);
    readout_free(r);
}

Test(reading_stamps, the_same_before_a_first_date)
{
    struct readout *r = readout_text("  can0  001   [0]\n (2024-02-29 23:59:59.5)  can0  002   [0]\n");

    cr_assert_eq(r->info->time_base, DBR_TIME_EPOCH);
    expect_times(r, (const int64_t[]){0, 0}, 2);
    readout_free(r);
}

Test(reading_stamps, a_clock_set_back_is_taken_out_and_counted)
{
    struct readout *r =
        readout_text("(1717000010.0) can0 001#\n(1717000011.0) can0 002#\n"
                     "(1717000001.0) can0 003#\n(1717000002.5) can0 004#\n"
                     "(1717000002.0) can0 005#\n(1717000003.0) can0 006#\n");

    readout_expect_sound(r, 6);
    cr_assert_eq(r->info->steps_back.count, 2);
    cr_assert_eq(r->info->steps_back.largest_ns, 10 * S);
    cr_assert_eq(r->info->steps_back.first_at_ns, 1 * S);
    expect_times(r, (const int64_t[]){0, 1 * S, 1 * S, 2500 * MS, 2500 * MS, 3500 * MS}, 6);
    readout_free(r);
}

/* A recorder wakes up in 1970, 1980 or 2000 and learns the time on the way. */
Test(reading_stamps, a_clock_that_leaps_ahead_by_years_is_taken_out_and_counted)
{
    static const char *const asleep[] = {"0000000003.0", "0315532803.0", "0946684803.0"};
    struct bytes text = {0};

    for (size_t i = 0; i < sizeof asleep / sizeof asleep[0]; i++) {
        text.length = 0;
        bytes_text(&text, "(%s) can0 001#\n(%.9s4.5) can0 002#\n(1717000000.0) can0 003#\n"
                          "(1717000002.0) can0 004#\n", asleep[i], asleep[i]);
        struct readout *r = readout_bytes(&text);
        expect_times(r, (const int64_t[]){0, 1500 * MS, 1500 * MS, 3500 * MS}, 4);
        cr_expect_eq(r->info->steps_back.count, 0);
        cr_expect_eq(r->info->steps_ahead.count, 1);
        cr_expect_eq(r->info->steps_ahead.first_at_ns, 1500 * MS);
        cr_expect_gt(r->info->steps_ahead.largest_ns, INT64_C(700000000) * S);
        readout_free(r);
    }
    bytes_free(&text);
}

/* Up to a year it may be a pause, and between two files of any length. */
Test(reading_stamps, how_far_ahead_is_no_leap)
{
    static const struct {
        const char *ahead;
        uint64_t leaps;
    } rows[] = {{"1003600000.0", 0}, {"1031622400.0", 0}, {"1031622400.5", 1}}; /* 366 days, and a little more */
    struct bytes files[2] = {{0}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct readout *r = READ_STAMPS("1000000000.0", rows[i].ahead);
        cr_expect_eq(r->info->steps_ahead.count, rows[i].leaps, "%s", rows[i].ahead);
        readout_free(r);
    }
    bytes_text(&files[0], "(1000000000.0) can0 001#\n");
    bytes_text(&files[1], "(1717000000.0) can0 001#\n");
    struct readout *r = readout_files(files, 2, NULL);
    cr_expect_eq(r->info->steps_ahead.count, 0);
    cr_expect_eq(r->info->last_ns, 717000000 * S);
    readout_free(r);
    bytes_free(&files[0]);
    bytes_free(&files[1]);
}

/* Up to 1 ms is two interfaces written a little out of order. */
Test(reading_stamps, how_little_disorder_is_no_step)
{
    static const struct {
        const char *back;
        uint64_t steps;
    } rows[] = {{"1717000000.009999", 0}, {"1717000000.009000", 0}, {"1717000000.008999", 1}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct readout *r = READ_STAMPS("1717000000.000000", "1717000000.010000", rows[i].back,
                                        "1717000000.020000");
        cr_assert_eq(r->info->steps_back.count, rows[i].steps, "%s", rows[i].back);
        cr_assert_eq(r->frames[2].at_ns, 10 * MS);
        readout_free(r);
    }
}

Test(reading_stamps, a_zero_based_clock_that_steps_back_once_holds_no_differences)
{
    struct bytes text = {0};

    for (int i = 0; i < 100; i++)
        bytes_text(&text, " (%03d.000000)  can0  123   [1]  AA\n", i < 50 ? i : i - 10);
    struct readout *r = readout_bytes(&text);
    cr_assert_eq(r->info->steps_back.count, 1);
    cr_assert_eq(r->info->steps_back.largest_ns, 9 * S);
    /* 49 s before the step, none in it, 49 s after it. */
    cr_assert_eq(r->info->last_ns, 98 * S);
    readout_free(r);
    bytes_free(&text);
}

/* Stamps of a damaged file are anything; time still only runs forward (asserted by readout). */
Test(reading_stamps, absurd_stamps_do_no_harm)
{
    static const char far[] = "(0.0) can0 001#\n(9223372034.0) can0 002#\n(0.0) can0 003#\n"
                              "(9223372034.0) can0 004#\n(0.0) can0 005#\n(9223372034.0) can0 006#\n";
    static const char near[] = "(9223372034.0) can0 001#\n(0.0) can0 002#\n(9223372034.0) can0 003#\n"
                               "(0.0) can0 004#\n(9223372034.0) can0 005#\n";
    struct bytes files[2] = {{0}};

    bytes_text(&files[0], "%s", far);
    bytes_text(&files[1], "%s", far);
    struct readout *r = readout_files(files, 2, NULL);
    cr_assert_eq(r->result, 0);
    cr_assert_eq(r->count, 12);
    readout_free(r);
    r = readout_text(near);
    cr_assert_eq(r->count, 5);
    readout_free(r);
    bytes_free(&files[0]);
    bytes_free(&files[1]);
}

Test(reading_stamps, moments_as_the_command_line_states_them)
{
    static const struct {
        const char *text;
        enum dbr_moment_kind kind;
        int64_t ns;
    } rows[] = {
        {"0", DBR_MOMENT_FROM_START, 0},
        {"12.5", DBR_MOMENT_FROM_START, 12500 * MS},
        {"1717000000.123456789", DBR_MOMENT_FROM_START, INT64_C(1717000000123456789)},
        {"08:13:20.5", DBR_MOMENT_TIME_OF_DAY, (8 * 3600 + 13 * 60 + 20) * S + 500 * MS},
        {"8:13:20", DBR_MOMENT_TIME_OF_DAY, (8 * 3600 + 13 * 60 + 20) * S},
        {"08:13:20Z", DBR_MOMENT_TIME_OF_DAY, (8 * 3600 + 13 * 60 + 20) * S},
        {"23:59:60", DBR_MOMENT_TIME_OF_DAY, 86400 * S}, /* a leap second */
        {"1970-01-01T00:00:00", DBR_MOMENT_DATE, 0},
        {"2024-02-29 23:59:59", DBR_MOMENT_DATE, 1709251199 * S},
        {"2024-02-29T23:59:59.25Z", DBR_MOMENT_DATE, 1709251199 * S + 250 * MS},
    };
    struct dbr_moment moment;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_eq(dbr_moment_parse(&moment, rows[i].text), 0, "%s", rows[i].text);
        cr_assert_eq(moment.kind, rows[i].kind, "%s", rows[i].text);
        cr_assert_eq(moment.ns, rows[i].ns, "%s", rows[i].text);
    }
}

Test(reading_stamps, moments_that_are_none)
{
    static const char *const rows[] = {
        "",         "noon",     "-1",       "1.",       ".5",       "1 s",     " 1",
        "1Z",       "24:00:00", "25:00:00", "12:60:00", "12:00:61", "12:00",   "123:00:00",
        "12:0:00",  "2024-05-29", "2024-13-01T00:00:00", "2023-02-29T00:00:00",
        "1969-12-31T23:59:59", "2024-05-29T08:13:20+02:00", "99999999999"};
    struct dbr_moment moment;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_assert_eq(dbr_moment_parse(&moment, rows[i]), -1, "%s", rows[i]);
}
