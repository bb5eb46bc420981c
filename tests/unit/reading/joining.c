/* Several files as one recording, and windows of time and interface on it. */
#include <criterion/criterion.h>
#include <string.h>
#include <unistd.h>

#include "support/capture.h"
#include "support/readout.h"

#define S INT64_C(1000000000)
#define TEXTS_MAX 8

static struct readout *read_texts(const char *const *texts, size_t count,
                                  const struct dbr_reading_options *options)
{
    struct bytes files[TEXTS_MAX] = {{0}};

    for (size_t i = 0; i < count; i++)
        bytes_add(&files[i], texts[i], strlen(texts[i]));
    struct readout *r = readout_files(files, count, options);
    for (size_t i = 0; i < count; i++)
        bytes_free(&files[i]);
    return r;
}

#define READ_TEXTS(...)                                                                            \
    read_texts((const char *const[]){__VA_ARGS__},                                                 \
               sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *), NULL)

/* The first data byte of each frame, as a word. */
static void expect_order(const struct readout *r, const char *letters)
{
    char found[64] = "";

    cr_assert_eq(r->result, 0, "%s", r->error.text);
    cr_assert_lt(r->count, sizeof found);
    for (size_t i = 0; i < r->count; i++)
        found[i] = (char)r->frames[i].data[0];
    cr_assert_str_eq(found, letters);
}

Test(reading_joining, rotated_files_are_put_in_the_order_of_time)
{
    struct readout *r = READ_TEXTS("(1000000005.0) can0 123#45\n(1000000006.0) can0 123#46\n",
                                   "(1000000001.0) can0 123#41\n(1000000002.0) can0 123#42\n",
                                   "(1000000003.0) can0 123#43\n(1000000004.0) can0 123#44\n");

    expect_order(r, "ABCDEF");
    cr_assert_eq(r->info->start_ns, 1000000001 * S);
    cr_assert_eq(r->info->last_ns, 5 * S);
    cr_assert_eq(r->info->steps_back.count, 0);
    cr_assert_not(r->info->joined_without_clock);
    /* The account of the files follows time, too. */
    cr_assert_str_eq(r->info->files[0].path, r->paths[1]);
    cr_assert_str_eq(r->info->files[2].path, r->paths[0]);
    readout_free(r);
}

Test(reading_joining, files_of_two_buses_are_merged)
{
    struct readout *r = READ_TEXTS("(1000000002.0) can1 123#42\n(1000000004.0) can1 123#44\n",
                                   "(1000000001.0) can0 123#41\n(1000000003.0) can0 123#43\n"
                                   "(1000000004.5) can0 123#45\n");

    expect_order(r, "ABCDE");
    cr_assert_eq(r->info->interface_count, 2);
    cr_assert_eq(r->info->steps_back.count, 0);
    for (size_t i = 0; i < r->count; i++)
        cr_assert_str_eq(r->info->interfaces[r->frames[i].interface], i % 2 ? "can1" : "can0");
    cr_assert_eq(r->info->files[0].frames, 3);
    cr_assert_eq(r->info->files[1].frames, 2);
    readout_free(r);
}

/* More frames than a file's batch holds, from files of different forms. */
Test(reading_joining, long_files_of_different_forms_are_merged)
{
    struct bytes files[2] = {{0}};
    struct wire w = {.link = LINK_CAN, .id = 0x123, .length = 2, .data_bytes = 2};

    pcap_start(&files[1], MAGIC_MICROSECONDS, LINK_CAN);
    for (unsigned i = 0; i < 3000; i++) {
        if (i % 3 == 0) {
            bytes_text(&files[0], "(1000000000.%06u) can0 123#%04X\n", i * 10, i);
            continue;
        }
        w.data[0] = (uint8_t)(i >> 8);
        w.data[1] = (uint8_t)i;
        pcap_packet(&files[1], 1000000000, i * 10, &w);
    }
    struct readout *r = readout_files(files, 2, NULL);
    cr_assert_eq(r->count, 3000);
    for (unsigned i = 0; i < 3000; i++)
        cr_assert_eq((unsigned)r->frames[i].data[0] << 8 | r->frames[i].data[1], i);
    cr_assert_str_eq(r->info->files[0].format, "candump-log");
    cr_assert_str_eq(r->info->files[1].format, "pcap");
    readout_free(r);
    bytes_free(&files[0]);
    bytes_free(&files[1]);
}

Test(reading_joining, without_a_clock_files_stand_end_to_end_as_given)
{
    struct readout *r = READ_TEXTS("(0.0) can0 123#41\n(5.0) can0 123#42\n",
                                   "(0.0) can0 123#43\n(2.0) can0 123#44\n",
                                   "(1.0) can0 123#45\n(4.0) can0 123#46\n");
    static const int64_t at[] = {0, 5 * S, 5 * S, 7 * S, 7 * S, 10 * S};

    expect_order(r, "ABCDEF");
    cr_assert(r->info->joined_without_clock);
    cr_assert_eq(r->info->time_base, DBR_TIME_RELATIVE);
    cr_assert_eq(r->info->steps_back.count, 0);
    for (size_t i = 0; i < r->count; i++)
        cr_assert_eq(r->frames[i].at_ns, at[i], "frame %zu", i);
    readout_free(r);
}

Test(reading_joining, pieces_that_count_on_keep_their_time)
{
    struct readout *r = READ_TEXTS("(0.0) can0 123#41\n(5.0) can0 123#42\n", "(6.0) can0 123#43\n");

    expect_order(r, "ABC");
    cr_assert_eq(r->info->last_ns, 6 * S);
    readout_free(r);
}

Test(reading_joining, a_step_in_one_piece_does_not_move_the_next)
{
    struct readout *r = READ_TEXTS("(0.0) can0 123#41\n(5.0) can0 123#42\n(1.0) can0 123#43\n"
                                   "(2.0) can0 123#44\n(3.0) can0 123#45\n(4.0) can0 123#46\n"
                                   "(5.0) can0 123#47\n(6.0) can0 123#48\n(7.0) can0 123#49\n"
                                   "(8.0) can0 123#4A\n",
                                   "(9.0) can0 123#4B\n(10.0) can0 123#4C\n");

    expect_order(r, "ABCDEFGHIJKL");
    cr_assert_eq(r->info->steps_back.count, 1);
    /* 5 s, a step of 4 s taken out, 7 s more to the end of the piece; the next one goes on. */
    cr_assert_eq(r->frames[9].at_ns, 12 * S);
    cr_assert_eq(r->info->last_ns, 14 * S);
    readout_free(r);
}

Test(reading_joining, files_without_stamps_stand_as_given)
{
    struct readout *r = READ_TEXTS("can0 123#42\n", "can0 123#41\n");

    expect_order(r, "BA");
    cr_assert_eq(r->info->time_base, DBR_TIME_NONE);
    cr_assert(r->info->joined_without_clock);
    readout_free(r);
}

Test(reading_joining, clocks_of_different_kinds_are_refused)
{
    static const char *const kinds[] = {"(1000000001.0) can0 123#41\n", "(0.0) can0 123#41\n",
                                        "can0 123#41\n"};

    for (size_t a = 0; a < 3; a++)
        for (size_t b = 0; b < 3; b++) {
            struct readout *r = READ_TEXTS(kinds[a], kinds[b]);
            cr_assert_eq(r->result, a == b ? 0 : -1, "%zu and %zu", a, b);
            if (a != b) {
                cr_assert_eq(r->error.code, DBR_ERROR_USAGE);
                cr_assert_not_null(strstr(r->error.text, r->paths[0]), "%s", r->error.text);
                cr_assert_not_null(strstr(r->error.text, r->paths[1]), "%s", r->error.text);
            }
            readout_free(r);
        }
}

Test(reading_joining, an_empty_file_among_several_is_told_and_tolerated)
{
    struct readout *r = READ_TEXTS("", "(1000000002.0) can0 123#42\n", "# nothing\n",
                                   "(1000000001.0) can0 123#41\n");

    expect_order(r, "AB");
    cr_assert_eq(r->info->file_count, 4);
    for (size_t i = 0; i < 4; i++)
        if (strcmp(r->info->files[i].path, r->paths[0]) == 0)
            cr_assert_str_eq(r->info->files[i].truncated_why, "the file is empty");
    readout_free(r);
}

Test(reading_joining, only_empty_files_hold_nothing)
{
    struct readout *r = READ_TEXTS("", "");

    cr_assert_eq(r->result, -1);
    cr_assert_eq(r->error.code, DBR_ERROR_EMPTY);
    readout_free(r);
}

Test(reading_joining, a_file_of_nothing_but_damage_does_not_hide_the_others)
{
    struct readout *r = READ_TEXTS("hello\nthere\n", "(1000000001.0) can0 123#41\n");
    uint64_t rejected = 0;

    expect_order(r, "A");
    for (size_t i = 0; i < r->info->file_count; i++)
        rejected += r->info->files[i].rejected;
    cr_assert_eq(rejected, 2);
    readout_free(r);
}

Test(reading_joining, one_file_that_is_no_recording_is_refused)
{
    static const char picture[] = "\xFF\xD8\xFF\xE0 and so on";
    struct readout *r = READ_TEXTS("(1000000001.0) can0 123#41\n", picture);

    cr_assert_eq(r->result, -1);
    cr_assert_not_null(strstr(r->error.text, r->paths[1]), "%s", r->error.text);
    readout_free(r);
}

/* Rotated files that only follow each other are no load, however many; overlapping ones are. */
Test(reading_joining, how_many_files_may_overlap)
{
    struct bytes files[DBR_OPEN_FILES_MAX + 1] = {{0}};
    const size_t count = DBR_OPEN_FILES_MAX + 1;

    for (unsigned i = 0; i < count; i++)
        bytes_text(&files[i], "(1000000%03u.0) can0 123#41\n(1000000%03u.5) can0 123#42\n", i, i);
    struct readout *r = readout_files(files, count, NULL);
    cr_assert_eq(r->result, 0, "%s", r->error.text);
    cr_assert_eq(r->count, 2 * count);
    readout_free(r);
    for (unsigned i = 0; i < count; i++)
        bytes_text(&files[i], "(1000001000.0) can0 123#43\n");
    r = readout_files(files, count, NULL);
    cr_assert_eq(r->result, -1);
    cr_assert_eq(r->error.code, DBR_ERROR_LIMIT);
    readout_free(r);
    for (unsigned i = 0; i < count; i++)
        bytes_free(&files[i]);
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

Test(reading_joining, windows_of_time)
{
    /* 1717000000 is 2024-05-29 16:26:40 UTC; the last frame is of 2024-05-30 00:46:40. */
    static const char *const text = "(1717000000.0) can0 123#41\n(1717000001.0) can0 123#42\n"
                                    "(1717000002.5) can0 123#43\n(1717030000.0) can0 123#44\n";
    static const struct {
        const char *from, *to, *expected;
    } rows[] = {
        {NULL, NULL, "ABCD"},
        {"0", NULL, "ABCD"},
        {"1", "2.5", "BC"},
        {"1.001", NULL, "CD"},
        {NULL, "0.999", "A"},
        {"16:26:41", "16:26:42", "B"},
        {"16:00:00", "16:26:41", "AB"}, /* the first quarter of an hour is not recorded */
        {"00:00:00", NULL, "D"},        /* the midnight after the start */
        {NULL, "00:40:00", "ABC"},
        {"2024-05-29T16:26:42", NULL, "CD"},
        {NULL, "2024-05-29 16:26:41Z", "AB"},
        {"2024-05-30T00:00:00", "2024-05-31T00:00:00", "D"},
        {"2020-01-01T00:00:00", "2020-01-02T00:00:00", ""},
        {"5", "4", ""},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_reading_options options = window(rows[i].from, rows[i].to);
        struct readout *r = read_texts(&text, 1, &options);
        expect_order(r, rows[i].expected);
        /* The account is of the whole recording. */
        cr_assert_eq(r->info->frames, 4);
        cr_assert_eq(r->info->last_ns, 30000 * S);
        readout_free(r);
    }
}

/* Frames keep their distance from the first of the recording, not of the window. */
Test(reading_joining, time_counts_from_the_recording_in_a_window_too)
{
    static const char *const text = "(1.0) can0 123#41\n(2.0) can0 123#42\n(3.0) can0 123#43\n";
    struct dbr_reading_options options = window("1.5", NULL);
    struct readout *r = read_texts(&text, 1, &options);

    expect_order(r, "C");
    cr_assert_eq(r->frames[0].at_ns, 2 * S);
    readout_free(r);
}

/* NAMEs are claimed before the window: who wants them gets them, and is told where it begins. */
Test(reading_joining, what_leads_to_a_window_is_delivered_on_request)
{
    static const char *const text = "(1.0) can0 123#41\n(2.0) can0 123#42\n(3.0) can0 123#43\n";
    struct dbr_reading_options options = window("0.5", "1.5");

    options.lead_in = true;
    struct readout *r = read_texts(&text, 1, &options);
    expect_order(r, "AB");
    cr_assert_eq(r->info->from_ns, S / 2);
    readout_free(r);
    r = read_texts(&text, 1, NULL);
    cr_assert_eq(r->info->from_ns, INT64_MIN);
    readout_free(r);
}

Test(reading_joining, one_interface_of_several)
{
    static const char *const text = "(1.0) can0 123#41\n(2.0) can1 123#42\n(3.0) can0 123#43\n"
                                    "(4.0) can10 123#44\n";
    static const struct {
        const char *interface, *expected;
    } rows[] = {{"can0", "AC"}, {"can1", "B"}, {"can10", "D"}, {"can", ""}, {"", ""}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_reading_options options = {.interface = rows[i].interface};
        struct readout *r = read_texts(&text, 1, &options);
        expect_order(r, rows[i].expected);
        cr_assert_eq(r->info->frames, 4);
        readout_free(r);
    }
}

Test(reading_joining, what_cannot_be_opened_is_named)
{
    static const struct {
        const char *path, *words;
    } rows[] = {{"/no/such/file.log", "/no/such/file.log"}, {"/tmp", "directory"}};
    struct dbr_recording *recording;
    struct dbr_error error;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_eq(dbr_recording_open(&recording, &rows[i].path, 1, NULL, &error), -1);
        cr_assert_null(recording);
        cr_assert_eq(error.code, DBR_ERROR_OPEN);
        cr_assert_not_null(strstr(error.text, rows[i].words), "%s", error.text);
        cr_assert_eq(dbr_recording_open(&recording, &rows[i].path, 1, NULL, NULL), -1);
    }
    dbr_recording_close(NULL);
}

/* Standard input is a pipe: it cannot be opened twice, and comes in pieces. */
Test(reading_joining, a_pipe_is_read_once_beside_a_file)
{
    int ends[2];
    struct bytes file = {0};
    struct dbr_recording *recording;
    struct dbr_error error;
    static struct dbr_batch batch = {.capacity = DBR_BATCH_FRAMES};
    static const char piped[] = "(1000000001.0) can0 123#41\n(1000000003.0) can0 123#43\n";

    bytes_text(&file, "(1000000002.0) can0 123#42\n");
    char path[] = "/tmp/drawbar reading XXXXXX";
    int fd = mkstemp(path);
    cr_assert_eq(write(fd, file.data, file.length), (ssize_t)file.length);
    close(fd);
    cr_assert_eq(pipe(ends), 0);
    cr_assert_eq(write(ends[1], piped, sizeof piped - 1), (ssize_t)sizeof piped - 1);
    close(ends[1]);
    cr_assert_eq(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
    close(ends[0]);
    const char *const paths[] = {path, "-"};
    cr_assert_eq(dbr_recording_open(&recording, paths, 2, NULL, &error), 0, "%s", error.text);
    cr_assert_eq(dbr_recording_next(recording, &batch, &error), 3);
    for (size_t i = 0; i < 3; i++)
        cr_assert_eq(batch.frames[i].data[0], 'A' + i);
    /* The end stays the end. */
    cr_assert_eq(dbr_recording_next(recording, &batch, &error), 0);
    cr_assert_eq(dbr_recording_next(recording, &batch, &error), 0);
    dbr_recording_close(recording);
    unlink(path);
    bytes_free(&file);
}
