/* bytes.c - see bytes.h. */
#include "farm/bytes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "farm/frame.h"

#define CHUNK       65536u
#define GZIP_WINDOW (15 + 16) /* zlib: largest window, gzip header without name and time */
#define GZIP_MEMORY 8         /* zlib: its default */

static bool make_room(struct farm_bytes *b, size_t more)
{
    if (b->failed || more > FARM_BYTES_MAX - b->length)
        return false;
    if (b->length + more <= b->room)
        return true;
    size_t room = 2 * (b->length + more);
    uint8_t *data = realloc(b->data, room);
    if (!data)
        return false;
    b->data = data;
    b->room = room;
    return true;
}

void farm_bytes_add(struct farm_bytes *b, const void *data, size_t length)
{
    if (length == 0)
        return;
    if (!make_room(b, length)) {
        b->failed = true;
        return;
    }
    memcpy(b->data + b->length, data, length);
    b->length += length;
}

void farm_bytes_add16(struct farm_bytes *b, uint32_t value)
{
    uint8_t data[2];

    farm_put16(data, value);
    farm_bytes_add(b, data, sizeof data);
}

void farm_bytes_add32(struct farm_bytes *b, uint32_t value)
{
    uint8_t data[4];

    farm_put32(data, value);
    farm_bytes_add(b, data, sizeof data);
}

void farm_bytes_release(struct farm_bytes *b)
{
    free(b->data);
    memset(b, 0, sizeof *b);
}

bool farm_bytes_write_file(const struct farm_bytes *b, const char *path)
{
    FILE *file = fopen(path, "wb");

    if (!file)
        return false;
    bool written = fwrite(b->data, 1, b->length, file) == b->length;
    return fclose(file) == 0 && written;
}

bool farm_bytes_zip(const struct farm_bytes *plain, struct farm_bytes *out)
{
    z_stream z = {0};

    if (deflateInit2(&z, Z_BEST_COMPRESSION, Z_DEFLATED, GZIP_WINDOW, GZIP_MEMORY,
                     Z_DEFAULT_STRATEGY) != Z_OK)
        return false;
    uLong bound = deflateBound(&z, (uLong)plain->length);
    if (!make_room(out, bound)) {
        deflateEnd(&z);
        return false;
    }
    z.next_in = plain->data;
    z.avail_in = (uInt)plain->length; /* FARM_BYTES_MAX fits */
    z.next_out = out->data + out->length;
    z.avail_out = (uInt)bound;
    int result = deflate(&z, Z_FINISH);
    out->length += z.total_out;
    deflateEnd(&z);
    return result == Z_STREAM_END;
}

bool farm_bytes_read_file(struct farm_bytes *out, const char *path)
{
    uint8_t chunk[CHUNK];
    int got;
    gzFile file = gzopen(path, "rb");

    if (!file)
        return false;
    while ((got = gzread(file, chunk, sizeof chunk)) > 0)
        farm_bytes_add(out, chunk, (size_t)got);
    return gzclose(file) == Z_OK && got == 0 && !out->failed;
}
