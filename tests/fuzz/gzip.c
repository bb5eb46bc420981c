/*
 * gzip.c - compressed recordings: any bytes as they are, and text that we compress and cut.
 *
 * An input that begins as gzip data does is read as it is. Any other one begins with two
 * bytes that say where it is cut and into how many members it goes; the rest is text (gzip
 * data within gzip data is not read). What is read of it must be the beginning of what is
 * read of the text.
 */
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "fuzz/readings.h"
#include "fuzz/target.h"

#define GZIP_WINDOW_BITS (15 + 16) /* zlib: 16 more for a gzip header */
#define HEAD 2u
#define SIZE_MAX_BYTES 4096u
#define MEMBERS_MAX 4u
/* Stored blocks and frames of members: more than the bytes themselves need. */
#define ROOM (2 * SIZE_MAX_BYTES + 64 * MEMBERS_MAX)

static uint8_t packed[ROOM];

static size_t add_member(size_t used, const uint8_t *bytes, size_t length)
{
    z_stream z = {.next_in = (uint8_t *)(uintptr_t)bytes, .avail_in = (uInt)length,
                  .next_out = packed + used, .avail_out = (uInt)(ROOM - used)};

    MUST(deflateInit2(&z, 1, Z_DEFLATED, GZIP_WINDOW_BITS, 1, Z_DEFAULT_STRATEGY) == Z_OK);
    MUST(deflate(&z, Z_FINISH) == Z_STREAM_END);
    used = ROOM - z.avail_out;
    deflateEnd(&z);
    return used;
}

/* Puts into `ends` where each member ends; returns the size of all. */
static size_t pack(const uint8_t *text, size_t length, size_t members, size_t *ends)
{
    size_t used = 0, part = length / members;

    for (size_t i = 0; i < members; i++) {
        used = add_member(used, text + i * part, i + 1 < members ? part : length - i * part);
        ends[i] = used;
    }
    return used;
}

/* How much of it is kept. Never whole members alone: nobody could tell that some are missing, nor
 * that a line at the end was longer. */
static size_t kept_of(const size_t *ends, size_t members, uint8_t cut)
{
    size_t size = ends[members - 1], kept = size - size * cut / 256;

    for (size_t i = 0; i + 1 < members; i++)
        kept -= kept == ends[i];
    return kept;
}

/* A cut costs the frames behind it, and never makes up others. What is no recording as a whole
 * may be one up to the cut. */
static void must_begin_alike(const struct reading *whole, const struct reading *part, bool cut)
{
    if (!cut)
        MUST_NOT(account_difference(&whole->account, &part->account));
    if (!whole->account.info)
        return;
    MUST(part->count <= whole->count);
    for (size_t i = 0; i < part->count; i++)
        MUST(reading_same_frame(whole->frames[i], part->frames[i]));
}

static void packed_must_read_alike(const uint8_t *head, const uint8_t *text, size_t length)
{
    static struct memory_file plain_file, packed_file;
    static struct reading whole, part;
    size_t ends[MEMBERS_MAX], members = 1 + head[0] % MEMBERS_MAX;
    size_t size = pack(text, length, members, ends), kept = kept_of(ends, members, head[1]);

    memory_file_put(&plain_file, text, length);
    memory_file_put(&packed_file, packed, kept);
    reading_take(&whole, &plain_file, DBR_BATCH_FRAMES);
    reading_take(&part, &packed_file, 1 + head[0] / MEMBERS_MAX);
    must_begin_alike(&whole, &part, kept < size);
    reading_end(&whole);
    reading_end(&part);
}

static void gzip_run(const uint8_t *data, size_t size)
{
    if (size >= 2 && data[0] == 0x1F && data[1] == 0x8B)
        readings_must_agree(data, size, 1 + size % 7);
    else if (size > HEAD && size <= SIZE_MAX_BYTES && data[HEAD] != 0x1F)
        packed_must_read_alike(data, data + HEAD, size - HEAD);
}

const struct fuzz_target gzip_target = {
    .name = "gzip", .size_max = SIZE_MAX_BYTES, .run = gzip_run};
