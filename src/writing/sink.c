/* sink.c - see sink.h. */
#include "writing/sink.h"

#include <errno.h>
#include <string.h>

#define GZIP_WINDOW (15 + 16) /* zlib.h: window bits, plus 16 for a gzip header */
#define MEMORY_LEVEL 8        /* zlib.h: the default */
#define PIECE 16384u

int sink_open(struct sink *s, FILE *file, bool compress, struct dbr_error *error)
{
    *s = (struct sink){.file = file, .compress = compress};
    if (!compress || deflateInit2(&s->gzip, Z_DEFAULT_COMPRESSION, Z_DEFLATED, GZIP_WINDOW,
                                  MEMORY_LEVEL, Z_DEFAULT_STRATEGY) == Z_OK)
        return 0;
    return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
}

static void put(struct sink *s, const void *bytes, size_t length)
{
    errno = 0;
    if (length == 0 || s->failed || fwrite(bytes, 1, length, s->file) == length)
        return;
    s->failed = true;
    s->why = errno;
}

static void deflate_more(struct sink *s, int flush)
{
    uint8_t piece[PIECE];

    do {
        s->gzip.next_out = piece;
        s->gzip.avail_out = sizeof piece;
        deflate(&s->gzip, flush);
        put(s, piece, sizeof piece - s->gzip.avail_out);
    } while (s->gzip.avail_out == 0);
}

void sink_write(struct sink *s, const void *bytes, size_t length)
{
    if (!s->compress) {
        put(s, bytes, length);
        return;
    }
    s->gzip.next_in = (z_const Bytef *)bytes;
    s->gzip.avail_in = (uInt)length;
    deflate_more(s, Z_NO_FLUSH);
}

void sink_u16(struct sink *s, uint32_t value)
{
    const uint8_t bytes[] = {(uint8_t)value, (uint8_t)(value >> 8)};
    sink_write(s, bytes, sizeof bytes);
}

void sink_u32(struct sink *s, uint32_t value)
{
    sink_u16(s, value & 0xFFFFu);
    sink_u16(s, value >> 16);
}

int sink_check(const struct sink *s, struct dbr_error *error)
{
    if (!s->failed)
        return 0;
    return dbr_error_set(error, DBR_ERROR_WRITE, "the recording cannot be written: %s",
                         s->why ? strerror(s->why) : "write error");
}

int sink_close(struct sink *s, struct dbr_error *error)
{
    if (s->compress) {
        deflate_more(s, Z_FINISH);
        deflateEnd(&s->gzip);
    }
    errno = 0;
    if (!s->failed && fflush(s->file) != 0) {
        s->failed = true;
        s->why = errno;
    }
    return sink_check(s, error);
}
