/* stream.c - see stream.h. */
#include "reading/stream.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drawbar/limits.h"

/* RFC 1952 2.3.1: identification bytes of a gzip member. */
static const uint8_t gzip_magic[2] = {0x1F, 0x8B};

/* zlib: window bits 15, plus 16 to expect a gzip header and trailer. */
#define GZIP_WINDOW_BITS (15 + 16)

static void set_flaw(struct stream *s, const char *why)
{
    s->ended = true;
    if (s->flaw[0] == '\0')
        snprintf(s->flaw, sizeof s->flaw, "%s", why);
}

/* How often a wait for bytes that do not come looks whether they are still wanted. */
#define LOOK_UP_MS 100

static bool is_halted(const struct stream *s)
{
    return s->halt && *s->halt;
}

/* False where nobody wants the bytes any more that it waited for. */
static bool wait_for_bytes(const struct stream *s)
{
    struct pollfd wanted = {.fd = s->fd, .events = POLLIN};

    if (!s->stop && !s->halt)
        return true;
    while (!is_halted(s) && !(s->stop && *s->stop)) {
        int ready = poll(&wanted, 1, LOOK_UP_MS);
        if (ready > 0 || (ready < 0 && errno != EINTR))
            return true;
    }
    return false;
}

/* read(2) that goes on after a signal. Returns 0 at the end or after an error, which it records. */
static size_t read_some(struct stream *s, uint8_t *out, size_t count)
{
    while (wait_for_bytes(s)) {
        ssize_t got = read(s->fd, out, count);
        if (got >= 0)
            return (size_t)got;
        if (errno != EINTR) {
            set_flaw(s, strerror(errno));
            return 0;
        }
    }
    if (is_halted(s))
        set_flaw(s, "the reading was stopped");
    return 0;
}

/* Moves what is visible to the start of the window, so that there is room behind it. */
static void compact(struct stream *s)
{
    if (s->begin == 0)
        return;
    memmove(s->window, s->window + s->begin, s->end - s->begin);
    s->end -= s->begin;
    s->begin = 0;
}

static void fill_plain(struct stream *s)
{
    size_t got = read_some(s, s->window + s->end, DBR_STREAM_WINDOW - s->end);
    s->end += got;
    if (got == 0)
        s->ended = true;
}

/* Provides compressed input. False at its end. */
static bool refill_packed(struct stream *s)
{
    if (s->inflate.avail_in > 0)
        return true;
    size_t got = read_some(s, s->packed, DBR_STREAM_WINDOW);
    s->inflate.next_in = s->packed;
    s->inflate.avail_in = (uInt)got;
    return got > 0;
}

/*
 * Between members: another one may follow (RFC 1952 2.2), or zero bytes as
 * padding, or something that is no gzip data, which is told rather than ignored.
 */
static bool start_member(struct stream *s)
{
    while (refill_packed(s) && *s->inflate.next_in == 0) {
        s->inflate.next_in++;
        s->inflate.avail_in--;
    }
    if (s->inflate.avail_in == 0) {
        s->ended = true;
        return false;
    }
    if (*s->inflate.next_in != gzip_magic[0]) {
        set_flaw(s, "bytes that are not gzip data follow the gzip data");
        return false;
    }
    if (inflateReset(&s->inflate) != Z_OK) {
        set_flaw(s, "gzip data cannot be decompressed");
        return false;
    }
    s->in_member = true;
    return true;
}

static void fill_inflated(struct stream *s)
{
    if (!s->in_member && !start_member(s))
        return;
    if (!refill_packed(s)) {
        set_flaw(s, "gzip data ends early");
        return;
    }
    s->inflate.next_out = s->window + s->end;
    s->inflate.avail_out = (uInt)(DBR_STREAM_WINDOW - s->end);
    int result = inflate(&s->inflate, Z_NO_FLUSH);
    s->end = DBR_STREAM_WINDOW - s->inflate.avail_out;
    if (result == Z_STREAM_END)
        s->in_member = false;
    else if (result != Z_OK && result != Z_BUF_ERROR)
        set_flaw(s, "gzip data is damaged");
}

size_t stream_peek(struct stream *s, size_t want, const uint8_t **bytes)
{
    if (s->end - s->begin < want && !s->ended)
        compact(s);
    while (s->end - s->begin < want && !s->ended) {
        if (s->compressed)
            fill_inflated(s);
        else
            fill_plain(s);
    }
    *bytes = s->window + s->begin;
    return s->end - s->begin;
}

void stream_skip(struct stream *s, size_t count)
{
    s->begin += count;
}

size_t stream_read(struct stream *s, void *out, size_t count)
{
    size_t done = 0;

    while (done < count) {
        const uint8_t *bytes;
        size_t visible = stream_peek(s, 1, &bytes);
        if (visible == 0)
            break;
        size_t part = visible < count - done ? visible : count - done;
        memcpy((uint8_t *)out + done, bytes, part);
        stream_skip(s, part);
        done += part;
    }
    return done;
}

bool stream_discard(struct stream *s, uint64_t count)
{
    while (count > 0) {
        const uint8_t *bytes;
        size_t visible = stream_peek(s, 1, &bytes);
        if (visible == 0)
            return false;
        size_t part = visible < count ? visible : (size_t)count;
        stream_skip(s, part);
        count -= part;
    }
    return true;
}

/* The file turned out to be gzip'd: what is in the window so far is its compressed start. */
static int start_inflating(struct stream *s, const char *path, struct dbr_error *error)
{
    s->packed = malloc(DBR_STREAM_WINDOW);
    if (!s->packed || inflateInit2(&s->inflate, GZIP_WINDOW_BITS) != Z_OK)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", path);
    s->compressed = true;
    memcpy(s->packed, s->window, s->end);
    s->inflate.next_in = s->packed;
    s->inflate.avail_in = (uInt)s->end;
    s->end = 0;
    s->ended = false;
    return 0;
}

static int open_descriptor(struct stream *s, const char *path, struct dbr_error *error)
{
    struct stat status;

    s->fd = strcmp(path, "-") == 0 ? dup(STDIN_FILENO) : open(path, O_RDONLY | O_CLOEXEC);
    if (s->fd < 0 || fstat(s->fd, &status) < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: %s", path, strerror(errno));
    if (S_ISDIR(status.st_mode))
        return dbr_error_set(error, DBR_ERROR_OPEN,
                             "%s: is a directory; name the recordings in it", path);
    return 0;
}

int stream_open(struct stream *s, const char *path, const volatile sig_atomic_t *halt,
                struct dbr_error *error)
{
    const uint8_t *bytes;

    *s = (struct stream){.fd = -1, .halt = halt};
    if (open_descriptor(s, path, error) < 0)
        return -1;
    s->window = malloc(DBR_STREAM_WINDOW);
    if (!s->window)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", path);
    size_t visible = stream_peek(s, sizeof gzip_magic, &bytes);
    if (s->flaw[0] != '\0')
        return dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read: %s", path, s->flaw);
    if (visible >= sizeof gzip_magic && memcmp(bytes, gzip_magic, sizeof gzip_magic) == 0)
        return start_inflating(s, path, error);
    return 0;
}

void stream_close(struct stream *s)
{
    if (s->compressed)
        inflateEnd(&s->inflate);
    if (s->fd >= 0)
        close(s->fd);
    free(s->packed);
    free(s->window);
    *s = (struct stream){.fd = -1};
}
