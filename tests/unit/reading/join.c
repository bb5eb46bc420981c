/* Several files as one recording; windows of time and interface. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "support/temporary.h"

static const struct readout *read_texts(const char *const *texts, size_t count,
                                        const struct dbr_reading_options *options)
{
    char *paths[4];

    for (size_t i = 0; i < count; i++)
        paths[i] = temporary_text(texts[i]);
    const struct readout *r = read_files((const char *const *)paths, count, options, 2);
    for (size_t i = 0; i < count; i++)
        temporary_remove(paths[i]);
    return r;
}

static void assert_data(const struct readout *r, const char *bytes)
{
    cr_assert_eq(r->result, 0, "%s", r->error.text);
    cr_assert_eq(r->count, strlen(bytes), "%zu frames", r->count);
    for (size_t i = 0; i < r->count; i++)
        cr_assert_eq(r->frames[i].data[0], (uint8_t)bytes[i], "frame %zu", i);
}

Test(reading_join, rotated_files_are_put_in_the_order_of_time)
{
    const struct readout *r =
        read_texts((const char *[]){"(1000000003.0) can0 123#43\n(1000000004.0) can0 123#44\n",
                                    "(1000000001.0) can0 123#41\n(1000000002.0) can0 123#42\n"},
                   2, NULL);

    assert_data(r, "ABCD");
    cr_assert_eq(r->info.start_ns, INT64_C(1000000001000000000));
    cr_assert_eq(r->info.last_ns, 3000000000);
    cr_assert_eq(r->files[0].frames, 2);
}

Test(reading_join, files_of_two_buses_are_merged)
{
    const struct readout *r =
        read_texts((const char *[]){"(1000000001.0) can0 123#41\n(1000000003.0) can0 123#43\n",
                                    "(1000000002.0) can1 123#42\n(1000000004.0) can1 123#44\n"},
                   2, NULL);

    assert_data(r, "ABCD");
    cr_assert_eq(r->info.interface_count, 2);
    cr_assert_eq(r->info.clock_steps, 0);
}

Test(reading_join, without_a_clock_files_stand_end_to_end_as_given)
{
    const struct readout *r = read_texts(
        (const char *[]){"(0.0) can0 123#41\n(5.0) can0 123#42\n",
                         "(0.0) can0 123#43\n(2.0) can0 123#44\n"}, 2, NULL);

    assert_data(r, "ABCD");
    cr_assert(r->info.joined_without_clock);
    cr_assert_eq(r->info.clock_steps, 0);
    cr_assert_eq(r->frames[2].at_ns, 5000000000);
    cr_assert_eq(r->info.last_ns, 7000000000);
}

Test(reading_join, pieces_that_count_on_keep_their_time)
{
    const struct readout *r = read_texts((const char *[]){"(0.0) can0 123#41\n(5.0) can0 123#42\n",
                                                          "(6.0) can0 123#43\n"}, 2, NULL);

    assert_data(r, "ABC");
    cr_assert_eq(r->info.last_ns, 6000000000);
}

Test(reading_join, clocks_of_different_kinds_are_refused)
{
    const struct readout *r = read_texts(
        (const char *[]){"(1000000001.0) can0 123#41\n", "(0.0) can0 123#41\n"}, 2, NULL);

    cr_assert_eq(r->result, -1);
    cr_assert(strstr(r->error.text, "cannot be joined"), "%s", r->error.text);
}

Test(reading_join, an_empty_one_among_several_is_told_and_tolerated)
{
    const struct readout *r =
        read_texts((const char *[]){"(1000000001.0) can0 123#41\n", ""}, 2, NULL);

    assert_data(r, "A");
    cr_assert(r->files[1].truncated);
}

static struct dbr_reading_options window(const char *from, const char *to)
{
    struct dbr_reading_options options = {0};

    if (from)
        cr_assert_eq(dbr_moment_parse(&options.from, from), 0, "%s", from);
    if (to)
        cr_assert_eq(dbr_moment_parse(&options.to, to), 0, "%s", to);
    return options;
}

Test(reading_join, windows_of_time)
{
    /* 1717000000 is 2024-05-29 16:26:40 UTC */
    static const char text[] =
        "(1717000000.0) can0 123#41\n(1717000001.0) can0 123#42\n"
        "(1717000002.5) can0 123#43\n(1717030000.0) can0 123#44\n";
    static const struct {
        const char *from, *to, *expected;
    } rows[] = {{NULL, NULL, "ABCD"},
                {"1", "2.5", "BC"},
                {"1.001", NULL, "CD"},
                {"16:26:41", "16:26:42", "B"},
                {"2024-05-29T16:26:42", NULL, "CD"},
                {NULL, "2024-05-29 16:26:41Z", "AB"},
                {"00:00:00", NULL, "D"}}; /* the first midnight after the start */

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_reading_options options = window(rows[i].from, rows[i].to);
        const struct readout *r = read_texts((const char *[]){text}, 1, &options);
        assert_data(r, rows[i].expected);
        cr_assert_eq(r->info.frames, 4);
    }
}

Test(reading_join, moments_that_are_none)
{
    static const char *const rows[] = {"", "noon", "-1", "1.", "25:00:00", "12:60:00",
                                       "2024-13-01T00:00:00", "2024-05-29", "1 s"};
    struct dbr_moment moment;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_assert_eq(dbr_moment_parse(&moment, rows[i]), -1, "%s", rows[i]);
}

Test(reading_join, one_interface_of_several)
{
    struct dbr_reading_options options = {.interface = "can1"};
    const struct readout *r = read_texts(
        (const char *[]){"(1.0) can0 123#41\n(2.0) can1 123#42\n(3.0) can0 123#43\n"}, 1,
        &options);

    assert_data(r, "B");
    cr_assert_eq(r->frames[0].at_ns, 1000000000);
}

Test(reading_join, what_cannot_be_opened_is_named)
{
    const struct readout *r =
        read_files((const char *[]){"/no/such/file.log"}, 1, NULL, 1);
    cr_assert_eq(r->error.code, DBR_ERROR_OPEN);
    cr_assert(strstr(r->error.text, "/no/such/file.log"));

    r = read_files((const char *[]){"/tmp"}, 1, NULL, 1);
    cr_assert_eq(r->error.code, DBR_ERROR_OPEN);
    cr_assert(strstr(r->error.text, "directory"));
}
