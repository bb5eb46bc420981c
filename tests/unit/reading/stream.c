/* Compressed files: several members, damage, cuts, what follows them (RFC 1952). */
#include <criterion/criterion.h>
#include <string.h>

#include "support/temporary.h"

static const char first[] = "(1.0) can0 123#AA\n(2.0) can0 123#BB\n";
static const char second[] = "(3.0) can0 123#CC\n";
static uint8_t packed[8192];

Test(reading_stream, several_members_are_one_text)
{
    size_t length = gzip_append(packed, 0, sizeof packed, first, strlen(first));
    length = gzip_append(packed, length, sizeof packed, second, strlen(second));
    const struct readout *r = read_content(packed, length);

    cr_assert_eq(r->count, 3);
    cr_assert(r->files[0].compressed);
    cr_assert_not(r->files[0].truncated);
    cr_assert_str_eq(r->files[0].format, "candump-log");
}

Test(reading_stream, a_cut_gives_what_was_whole_and_says_so)
{
    size_t length = gzip_append(packed, 0, sizeof packed, first, strlen(first));
    const struct readout *r = read_content(packed, length - 5);

    cr_assert_eq(r->count, 2);
    cr_assert(r->files[0].truncated);
    cr_assert(strstr(r->files[0].truncated_why, "ends early"), "%s", r->files[0].truncated_why);
}

Test(reading_stream, a_wrong_checksum_is_told)
{
    size_t length = gzip_append(packed, 0, sizeof packed, first, strlen(first));
    packed[length - 6] ^= 0xFF;
    const struct readout *r = read_content(packed, length);

    cr_assert(r->files[0].truncated);
    cr_assert(strstr(r->files[0].truncated_why, "damaged"), "%s", r->files[0].truncated_why);
}

Test(reading_stream, padding_is_nothing_and_garbage_is_told)
{
    size_t length = gzip_append(packed, 0, sizeof packed, first, strlen(first));
    memset(packed + length, 0, 100);
    const struct readout *r = read_content(packed, length + 100);
    cr_assert_eq(r->count, 2);
    cr_assert_not(r->files[0].truncated);

    packed[length + 50] = 'x';
    r = read_content(packed, length + 100);
    cr_assert_eq(r->count, 2);
    cr_assert(r->files[0].truncated);
}

Test(reading_stream, what_is_no_recording_is_refused_with_a_reason)
{
    static const struct {
        char content[32];
        size_t length;
        const char *words;
        enum dbr_error_code code;
    } rows[] = {
        {"", 0, "is empty", DBR_ERROR_EMPTY},
        {"\xFF\xD8\xFF\xE0\0\x10JFIF", 10, "JPEG", DBR_ERROR_FORMAT},
        {"PK\3\4\0\0", 6, "zip", DBR_ERROR_FORMAT},
        {"\xFF\xFE(\0" "1\0", 6, "UTF-16", DBR_ERROR_FORMAT},
        {"\0\1\2\3\4\5\6\7", 8, "00 01 02 03", DBR_ERROR_FORMAT},
        {"just words\n", 11, "line 1", DBR_ERROR_FORMAT},
        {"# nothing\n\n", 11, "holds no CAN frames", DBR_ERROR_EMPTY},
        {"\x1F\x8B\x08\0xxxxxxxxxxxx", 16, "damaged", DBR_ERROR_READ},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct readout *r = read_content(rows[i].content, rows[i].length);
        cr_assert_eq(r->result, -1, "row %zu", i);
        cr_assert_eq(r->error.code, rows[i].code, "row %zu: %s", i, r->error.text);
        cr_assert(strstr(r->error.text, rows[i].words), "row %zu: %s", i, r->error.text);
    }
}

Test(reading_stream, any_size_of_batch_gives_the_same_frames)
{
    static const size_t sizes[] = {1, 2, 7, 100};
    static struct readout expected;
    const char *path = SOURCE_DIRECTORY "/samples/recorder-bus-off.log";

    expected = *read_files(&path, 1, NULL, DBR_BATCH_FRAMES);
    cr_assert_eq(expected.count, READ_MAX);
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        const struct readout *r = read_files(&path, 1, NULL, sizes[i]);
        cr_assert_eq(r->info.frames, expected.info.frames);
        cr_assert_eq(r->info.last_ns, expected.info.last_ns);
        cr_assert_eq(memcmp(r->frames, expected.frames, sizeof r->frames), 0);
    }
}
