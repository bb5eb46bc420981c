/* readout.c - see readout.h. */
#include "support/readout.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/account.h"

static char *write_file(const void *content, size_t length)
{
    const char *folder = getenv("TMPDIR");
    char path[512];

    snprintf(path, sizeof path, "%s/drawbar reading XXXXXX", folder ? folder : "/tmp");
    int fd = mkstemp(path);
    cr_assert_geq(fd, 0, "%s", path);
    FILE *file = fdopen(fd, "wb");
    if (length > 0)
        cr_assert_eq(fwrite(content, 1, length, file), length);
    cr_assert_eq(fclose(file), 0);
    return strdup(path);
}

static void keep(struct readout *r, const struct dbr_batch *batch)
{
    if (r->count + batch->count > r->capacity) {
        r->capacity = 2 * (r->count + batch->count);
        r->frames = realloc(r->frames, r->capacity * sizeof *r->frames);
        cr_assert_not_null(r->frames);
    }
    memcpy(r->frames + r->count, batch->frames, batch->count * sizeof *r->frames);
    r->count += batch->count;
}

static void read_all(struct readout *r, size_t batch_frames,
                     const struct dbr_reading_options *options)
{
    static struct dbr_batch batch;

    r->result = dbr_recording_open(&r->recording, (const char *const *)r->paths, r->path_count,
                                   options, &r->error);
    if (r->result < 0)
        return;
    batch.capacity = batch_frames;
    while ((r->result = dbr_recording_next(r->recording, &batch, &r->error)) > 0) {
        cr_assert_eq((size_t)r->result, batch.count);
        cr_assert_leq(batch.count, batch.capacity);
        keep(r, &batch);
        /* A frame names its interface from the moment it is delivered. */
        for (size_t i = 0; i < batch.count; i++)
            cr_assert_lt(batch.frames[i].interface,
                         dbr_recording_info(r->recording)->interface_count);
    }
    r->info = dbr_recording_info(r->recording);
    r->file = &r->info->files[0];
}

static struct readout *read_once(const struct bytes *contents, size_t count, bool packed,
                                 size_t batch_frames, const struct dbr_reading_options *options)
{
    struct readout *r = calloc(1, sizeof *r);

    cr_assert(r && count <= READOUT_FILES_MAX);
    r->path_count = count;
    for (size_t i = 0; i < count; i++) {
        struct bytes gzip = {0};
        if (packed)
            bytes_gzip(&gzip, contents[i].data, contents[i].length);
        r->paths[i] = packed ? write_file(gzip.data, gzip.length)
                             : write_file(contents[i].data, contents[i].length);
        bytes_free(&gzip);
    }
    read_all(r, batch_frames, options);
    for (size_t i = 0; i < count; i++)
        unlink(r->paths[i]);
    return r;
}

static struct account account_of(const struct readout *r)
{
    return (struct account){r->result, r->error.code, r->info, r->frames, r->count};
}

static void expect_adds_up(const struct readout *r)
{
    struct account account = account_of(r);
    const char *flaw = account_flaw(&account);

    cr_assert_null(flaw, "%s", flaw);
}

static void expect_same(const struct readout *a, const struct readout *b)
{
    struct account one = account_of(a), other = account_of(b);
    const char *difference = account_difference(&one, &other);

    cr_assert_null(difference, "the two differ in: %s (%s / %s)", difference, a->error.text,
                   b->error.text);
}

static bool is_gzip(const struct bytes *content)
{
    return content->length >= 2 && content->data[0] == 0x1F && content->data[1] == 0x8B;
}

struct readout *readout_files(const struct bytes *contents, size_t count,
                              const struct dbr_reading_options *options)
{
    static const struct {
        size_t batch_frames;
        bool packed;
        unsigned threads;
    } ways[] = {{1, false, 1}, {2, false, 1}, {3, false, 1}, {7, false, 1},
                {DBR_BATCH_FRAMES, true, 1}, {1, true, 1}, {DBR_BATCH_FRAMES, false, 2},
                {1, false, 2}, {3, true, 2}};
    struct dbr_reading_options chosen = options ? *options : (struct dbr_reading_options){0};
    struct readout *r = read_once(contents, count, false, DBR_BATCH_FRAMES, options);

    expect_adds_up(r);
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        if (ways[i].packed && is_gzip(&contents[0]))
            continue;
        chosen.threads = ways[i].threads;
        struct readout *other =
            read_once(contents, count, ways[i].packed, ways[i].batch_frames, &chosen);
        expect_same(r, other);
        readout_free(other);
    }
    return r;
}

struct readout *readout_bytes(const struct bytes *content)
{
    return readout_files(content, 1, NULL);
}

struct readout *readout_text(const char *text)
{
    struct bytes content = {0};

    bytes_add(&content, text, strlen(text));
    struct readout *r = readout_bytes(&content);
    bytes_free(&content);
    return r;
}

void readout_free(struct readout *r)
{
    dbr_recording_close(r->recording);
    for (size_t i = 0; i < r->path_count; i++)
        free(r->paths[i]);
    free(r->frames);
    free(r);
}

void readout_expect_sound(const struct readout *r, size_t frames)
{
    cr_assert_eq(r->result, 0, "%s", r->error.text);
    cr_assert_eq(r->info->frames, frames, "%zu frames", (size_t)r->info->frames);
    cr_assert_eq(r->file->rejected, 0, "%zu rejected", (size_t)r->file->rejected);
    cr_assert_not(r->file->truncated, "%s", r->file->truncated_why);
}

void readout_expect_rejected(const struct readout *r, enum dbr_rejection why, uint64_t count,
                             uint64_t first_at)
{
    cr_assert_not_null(r->info, "%s", r->error.text);
    const struct dbr_rejected *rejected = &r->file->rejections[why];
    cr_assert_eq(rejected->count, count, "%s: %zu times", dbr_rejection_words(why),
                 (size_t)rejected->count);
    cr_assert_eq(rejected->first_at, first_at, "%s: first at %zu", dbr_rejection_words(why),
                 (size_t)rejected->first_at);
}
