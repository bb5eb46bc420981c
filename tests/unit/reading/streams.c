/* Compressed and broken streams (RFC 1952), and files that are no recording at all. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/capture.h"
#include "support/readout.h"

static const char first[] = "(1.0) can0 123#AA\n(2.0) can0 123#BB\n";
static const char second[] = "(3.0) can0 123#CC\n";

Test(reading_streams, several_members_are_one_text)
{
    struct bytes gzip = {0};

    bytes_gzip(&gzip, first, strlen(first));
    bytes_gzip(&gzip, "", 0);
    bytes_gzip(&gzip, second, strlen(second));
    struct readout *r = readout_bytes(&gzip);
    cr_expect(r->file->compressed);
    readout_expect_sound(r, 3);
    readout_free(r);
    bytes_free(&gzip);
}

/* A member may end within a line: what is decompressed is one stream. */
Test(reading_streams, members_need_not_end_where_lines_do)
{
    for (size_t cut = 1; cut < strlen(first); cut++) {
        struct bytes gzip = {0};
        bytes_gzip(&gzip, first, cut);
        bytes_gzip(&gzip, first + cut, strlen(first) - cut);
        struct readout *r = readout_bytes(&gzip);
        readout_expect_sound(r, 2);
        readout_free(r);
        bytes_free(&gzip);
    }
}

Test(reading_streams, more_than_fits_the_window)
{
    struct bytes text = {0}, gzip = {0};
    const size_t lines = 3 * DBR_STREAM_WINDOW / 40;

    for (size_t i = 0; i < lines; i++)
        bytes_text(&text, "(%zu.000000) can0 18FEF100#%016zX\n", 1000000 + i, i);
    cr_assert_gt(text.length, 2 * DBR_STREAM_WINDOW);
    bytes_gzip(&gzip, text.data, text.length / 3);
    bytes_gzip(&gzip, text.data + text.length / 3, text.length - text.length / 3);
    struct readout *r = readout_bytes(&gzip);
    readout_expect_sound(r, lines);
    for (size_t i = 0; i < lines; i++)
        cr_assert_eq((size_t)r->frames[i].data[6] << 8 | r->frames[i].data[7], i & 0xFFFF);
    readout_free(r);
    bytes_free(&gzip);
    bytes_free(&text);
}

/* Lines of different lengths, each as it was written: a cut may take bytes away, never make some. */
static void add_numbered(struct bytes *text, unsigned lines)
{
    for (unsigned i = 0; i < lines; i++)
        bytes_text(text, "(%u.%06u) can0 18FEF100#%08X%08X\n", i, i * 7919 % 1000000,
                   i * 2654435761u, ~i * 40503u);
}

Test(reading_streams, a_cut_at_any_place_leaves_whole_frames_only)
{
    struct bytes text = {0}, gzip = {0};

    add_numbered(&text, 40);
    struct readout *whole = readout_bytes(&text);
    bytes_gzip(&gzip, text.data, text.length);
    const size_t length = gzip.length;
    for (gzip.length = length - 1; gzip.length > 20; gzip.length--) {
        struct readout *r = readout_bytes(&gzip);
        if (r->info && r->count > 0) {
            cr_assert(r->file->truncated);
            cr_assert_not_null(strstr(r->file->truncated_why, "gzip data ends early"), "%s",
                               r->file->truncated_why);
            cr_assert_leq(r->count, whole->count);
            cr_assert_arr_eq(r->frames, whole->frames, r->count * sizeof *r->frames,
                             "cut at %zu: the last of %zu frames is not whole", gzip.length,
                             r->count);
        } else {
            cr_assert_eq(r->result, -1);
        }
        readout_free(r);
    }
    readout_free(whole);
    bytes_free(&gzip);
    bytes_free(&text);
}

/* The place comes first, then what happened there; a frame's worth of what is left is no frame. */
Test(reading_streams, a_line_that_a_cut_shortened_is_rejected_by_its_number)
{
    static const char text[] = "(1.0) can0 123#AA\n(2.0) can0 123#AABB";
    struct bytes gzip = {0};

    bytes_gzip(&gzip, text, strlen(text));
    gzip.length -= 8; /* without the trailer nobody can tell whether more would follow */
    struct readout *r = readout_bytes(&gzip);
    cr_expect_eq(r->count, 1);
    readout_expect_rejected(r, DBR_REJECTION_LINE_CUT, 1, 2);
    cr_expect_str_eq(r->file->truncated_why, "line 2 is cut short: gzip data ends early");
    readout_free(r);
    bytes_free(&gzip);
}

Test(reading_streams, a_flipped_bit_at_any_place_is_told)
{
    struct bytes text = {0}, gzip = {0};

    add_numbered(&text, 20);
    bytes_gzip(&gzip, text.data, text.length);
    /* The ten bytes of the header may change without harm (time, system). */
    for (size_t at = 10; at < gzip.length; at++) {
        gzip.data[at] ^= 0x10;
        struct readout *r = readout_bytes(&gzip);
        if (r->result == 0)
            cr_assert(r->file->truncated, "byte %zu", at);
        readout_free(r);
        gzip.data[at] ^= 0x10;
    }
    bytes_free(&gzip);
    bytes_free(&text);
}

Test(reading_streams, padding_is_nothing_and_garbage_is_told)
{
    static const struct {
        uint8_t tail[4];
        size_t length;
        const char *why; /* NULL: sound */
    } rows[] = {
        {{0}, 0, NULL},
        {{0, 0, 0, 0}, 4, NULL},
        {{'x', 0, 0, 0}, 4, "bytes that are not gzip data follow the gzip data"},
        {{0, 0, 0, 'x'}, 4, "bytes that are not gzip data follow the gzip data"},
        {{0, 0x1F, 0x8B, 8}, 4, "gzip data ends early"},
        {{0x1F, 0x8B, 99, 99}, 4, "gzip data is damaged"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bytes gzip = {0};
        bytes_gzip(&gzip, first, strlen(first));
        bytes_add(&gzip, rows[i].tail, rows[i].length);
        struct readout *r = readout_bytes(&gzip);
        cr_expect_eq(r->count, 2, "row %zu", i);
        cr_expect_eq(r->file->rejected, 0, "row %zu", i);
        cr_expect_str_eq(r->file->truncated_why, rows[i].why ? rows[i].why : "", "row %zu", i);
        readout_free(r);
        bytes_free(&gzip);
    }
}

Test(reading_streams, a_member_after_padding_is_read)
{
    struct bytes gzip = {0};

    bytes_gzip(&gzip, first, strlen(first));
    bytes_repeat(&gzip, 0, 512);
    bytes_gzip(&gzip, second, strlen(second));
    struct readout *r = readout_bytes(&gzip);
    readout_expect_sound(r, 3);
    readout_free(r);
    bytes_free(&gzip);
}

/* A cut between two packets of a capture leaves no cut packet behind, and is still told. */
Test(reading_streams, a_cut_gzip_of_a_capture_is_told)
{
    struct bytes file = {0}, gzip = {0};
    const struct wire w = {.link = LINK_CAN, .id = 0x123, .length = 8, .data_bytes = 8};

    pcap_start(&file, MAGIC_MICROSECONDS, LINK_CAN);
    for (unsigned i = 0; i < 5; i++)
        pcap_packet(&file, i + 1, 0, &w);
    bytes_gzip(&gzip, file.data, file.length);
    gzip.length -= 4; /* the data is whole, the trailer is not */
    struct readout *r = readout_bytes(&gzip);
    cr_expect_eq(r->count, 5);
    cr_expect_eq(r->file->rejected, 0);
    cr_expect_str_eq(r->file->truncated_why, "gzip data ends early");
    readout_free(r);
    bytes_free(&gzip);
    bytes_free(&file);
}

Test(reading_streams, what_is_no_recording_is_refused_with_a_reason)
{
    static const struct {
        const char *content;
        size_t length;
        const char *words;
        enum dbr_error_code code;
    } rows[] = {
        {"", 0, "is empty", DBR_ERROR_EMPTY},
        {"\xFF\xD8\xFF\xE0\0\x10JFIF", 10, "JPEG", DBR_ERROR_FORMAT},
        {"\x89PNG\r\n\x1A\n", 8, "PNG", DBR_ERROR_FORMAT},
        {"%PDF-1.7\n", 9, "PDF", DBR_ERROR_FORMAT},
        {"PK\3\4\0\0", 6, "zip", DBR_ERROR_FORMAT},
        {"\xFD" "7zXZ\0", 6, "xz", DBR_ERROR_FORMAT},
        {"BZh91AY", 7, "bzip2", DBR_ERROR_FORMAT},
        {"\x28\xB5\x2F\xFD\0\0", 6, "zstd", DBR_ERROR_FORMAT},
        {"\xFF\xFE(\0" "1\0", 6, "UTF-16", DBR_ERROR_FORMAT},
        {"\xFE\xFF\0(\0" "1", 6, "UTF-16", DBR_ERROR_FORMAT},
        {"\0\1\2\3\4\5\6\7\x08", 9, "begins with 00 01 02 03 04 05 06 07", DBR_ERROR_FORMAT},
        {"\1", 1, "begins with 01", DBR_ERROR_FORMAT},
        {"just words\n", 11, "line 1: not a CAN frame", DBR_ERROR_FORMAT},
        {"# nothing\n\n", 11, "holds no CAN frames", DBR_ERROR_EMPTY},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bytes content = {0};
        bytes_add(&content, rows[i].content, rows[i].length);
        struct readout *r = readout_bytes(&content);
        cr_assert_eq(r->result, -1, "row %zu", i);
        cr_expect_eq(r->error.code, rows[i].code, "row %zu: %s", i, r->error.text);
        cr_expect_not_null(strstr(r->error.text, rows[i].words), "row %zu: %s", i, r->error.text);
        cr_expect_not_null(strstr(r->error.text, "drawbar reading"), "the file is named: %s",
                           r->error.text);
        readout_free(r);
        bytes_free(&content);
    }
}

Test(reading_streams, gzip_that_is_damaged_from_the_start_cannot_be_read)
{
    static const char damaged[] = "\x1F\x8B\x08\0xxxxxxxxxxxxxxxxxxxx";
    struct bytes content = {0};

    bytes_add(&content, damaged, sizeof damaged - 1);
    struct readout *r = readout_bytes(&content);
    cr_assert_eq(r->result, -1);
    cr_expect_eq(r->error.code, DBR_ERROR_READ);
    cr_expect_not_null(strstr(r->error.text, "gzip data is damaged"), "%s", r->error.text);
    bytes_free(&content);
    readout_free(r);
}
