/*
 * record.c - see record.h. Candump log text; pcapng with link type 227 and
 * nanoseconds (IETF draft-ietf-opsawg-pcapng); gzip (RFC 1952) by zlib.
 */
#include "record.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include <zlib.h>

#include "play.h"

#define START_US INT64_C(1717000000000000) /* 2024-05-29 16:26:40 UTC */
#define INTERFACE "can0"
#define ID_EXTENDED 0x80000000u
#define ID_ERROR 0x20000000u

/* Plain files go through zlib too: its mode "wT" writes without compressing. */
struct recorder {
    gzFile out;
    bool failed;
};

static void write_bytes(struct recorder *r, const void *bytes, size_t count)
{
    if (gzwrite(r->out, bytes, (unsigned)count) != (int)count)
        r->failed = true;
}

static bool write_log_line(void *context, const struct wire_frame *f)
{
    struct recorder *r = context;
    char line[96];
    int64_t at = START_US + f->at_us;
    uint32_t id = f->error ? f->id | ID_ERROR : f->id;
    int used = snprintf(line, sizeof line, "(%lld.%06lld) " INTERFACE " %08X#",
                        (long long)(at / 1000000), (long long)(at % 1000000), id);

    for (unsigned i = 0; i < f->length; i++)
        used += snprintf(line + used, sizeof line - (size_t)used, "%02X", f->data[i]);
    line[used++] = '\n';
    write_bytes(r, line, (size_t)used);
    return !r->failed;
}

static size_t put_u32(uint8_t *out, size_t at, uint32_t value)
{
    for (unsigned i = 0; i < 4; i++)
        out[at + i] = (uint8_t)(value >> (8 * i));
    return at + 4;
}

/* Section header and one interface: name, nanoseconds. */
static void write_capture_head(struct recorder *r)
{
    uint8_t b[80];
    size_t at = 0;

    at = put_u32(b, at, 0x0A0D0D0A);
    at = put_u32(b, at, 28);
    at = put_u32(b, at, 0x1A2B3C4D);
    at = put_u32(b, at, 1); /* version 1.0 */
    at = put_u32(b, at, 0xFFFFFFFF);
    at = put_u32(b, at, 0xFFFFFFFF);
    at = put_u32(b, at, 28);

    at = put_u32(b, at, 1);
    at = put_u32(b, at, 40);
    at = put_u32(b, at, 227);
    at = put_u32(b, at, 0);
    at = put_u32(b, at, 2 | 4u << 16); /* if_name, 4 bytes */
    memcpy(b + at, INTERFACE, 4);
    at += 4;
    at = put_u32(b, at, 9 | 1u << 16); /* if_tsresol, 1 byte */
    at = put_u32(b, at, 9);
    at = put_u32(b, at, 0); /* end of options */
    at = put_u32(b, at, 40);
    write_bytes(r, b, at);
}

/* Enhanced packet: a SocketCAN record with its identifier big-endian. */
static bool write_packet(void *context, const struct wire_frame *f)
{
    struct recorder *r = context;
    uint64_t ns = (uint64_t)(START_US + f->at_us) * 1000;
    uint32_t id = f->error ? f->id | ID_ERROR : f->id | ID_EXTENDED;
    uint8_t b[48] = {0};
    size_t at = 0;

    at = put_u32(b, at, 6);
    at = put_u32(b, at, 48);
    at = put_u32(b, at, 0);
    at = put_u32(b, at, (uint32_t)(ns >> 32));
    at = put_u32(b, at, (uint32_t)ns);
    at = put_u32(b, at, 16);
    at = put_u32(b, at, 16);
    for (unsigned i = 0; i < 4; i++)
        b[at + i] = (uint8_t)(id >> (24 - 8 * i));
    b[at + 4] = f->length;
    memcpy(b + at + 8, f->data, f->length);
    put_u32(b, at + 16, 48);
    write_bytes(r, b, 48);
    return !r->failed;
}

static bool ends_with(const char *text, const char *end)
{
    size_t length = strlen(text), tail = strlen(end);
    return length >= tail && strcmp(text + length - tail, end) == 0;
}

int record_scenario(const struct scenario *scenario, const char *path)
{
    bool capture = strstr(scenario->file, ".pcapng") != NULL;
    struct recorder r = {.out = gzopen(path, ends_with(scenario->file, ".gz") ? "wb9" : "wbT")};

    if (!r.out)
        return -1;
    if (capture)
        write_capture_head(&r);
    bool played = play(scenario, capture ? write_packet : write_log_line, &r);
    if (gzclose(r.out) != Z_OK || r.failed || !played) {
        errno = errno ? errno : EIO;
        return -1;
    }
    return 0;
}
