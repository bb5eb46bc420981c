/* temporary.c - see temporary.h. */
#include "support/temporary.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <zlib.h>

char *temporary_file(const void *content, size_t length)
{
    char *path = strdup("/tmp/drawbar-test-XXXXXX");
    int descriptor = mkstemp(path);

    cr_assert(descriptor >= 0);
    cr_assert_eq(write(descriptor, content, length), (ssize_t)length);
    close(descriptor);
    return path;
}

char *temporary_text(const char *text)
{
    return temporary_file(text, strlen(text));
}

void temporary_remove(char *path)
{
    unlink(path);
    free(path);
}

size_t gzip_append(uint8_t *out, size_t length, size_t room, const void *content, size_t count)
{
    z_stream z = {.next_in = (uint8_t *)(uintptr_t)content,
                  .avail_in = (uInt)count,
                  .next_out = out + length,
                  .avail_out = (uInt)(room - length)};

    cr_assert_eq(deflateInit2(&z, 9, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
    cr_assert_eq(deflate(&z, Z_FINISH), Z_STREAM_END);
    length += z.total_out;
    deflateEnd(&z);
    return length;
}

static struct readout readout;
static struct dbr_batch batch;

static void keep_info(const struct dbr_recording *recording)
{
    readout.info = *dbr_recording_info(recording);
    for (size_t i = 0; i < readout.info.file_count && i < 4; i++)
        readout.files[i] = readout.info.files[i];
    for (size_t i = 0; i < readout.info.interface_count && i < 4; i++)
        snprintf(readout.interfaces[i], DBR_INTERFACE_NAME_MAX, "%s",
                 readout.info.interfaces[i]);
}

const struct readout *read_files(const char *const *paths, size_t count,
                                 const struct dbr_reading_options *options, size_t batch_frames)
{
    struct dbr_recording *recording;
    int got;

    memset(&readout, 0, sizeof readout);
    readout.result =
        dbr_recording_open(&recording, paths, count, options, &readout.error);
    if (readout.result < 0)
        return &readout;
    batch.capacity = batch_frames;
    while ((got = dbr_recording_next(recording, &batch, &readout.error)) > 0)
        for (int i = 0; i < got && readout.count < READ_MAX; i++)
            readout.frames[readout.count++] = batch.frames[i];
    readout.result = got;
    keep_info(recording);
    dbr_recording_close(recording);
    return &readout;
}

const struct readout *read_content(const void *content, size_t length)
{
    char *path = temporary_file(content, length);
    const struct readout *r = read_files((const char *[]){path}, 1, NULL, DBR_BATCH_FRAMES);

    if (r->result == 0)
        cr_assert_eq(r->files[0].frames + r->files[0].rejected, r->files[0].records);
    temporary_remove(path);
    return r;
}

const struct readout *read_text(const char *text)
{
    return read_content(text, strlen(text));
}
