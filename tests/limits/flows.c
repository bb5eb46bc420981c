/* flows.c - see flows.h. */
#include "limits/flows.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "drawbar/limits.h"

#define GIGABYTE (UINT64_C(1) << 30)
#define ADDRESSES 254u
#define PIECE (1u << 20)
#define PACKED_PIECES 64u /* of a gzip member, which is written again and again */

/* A millisecond later each time. */
struct pen {
    FILE *out;
    uint64_t ms;
};

static bool put(struct pen *p, unsigned bus, uint32_t id, const char *data)
{
    p->ms++;
    return fprintf(p->out, "(%llu.%03u000) can%u %08X#%s\n",
                   (unsigned long long)(1700000000u + p->ms / 1000), (unsigned)(p->ms % 1000), bus,
                   id, data) > 0;
}

bool flow_addresses(FILE *out)
{
    struct pen p = {out, 0};
    char name[17];

    for (unsigned bus = 0; bus < 4; bus++)
        for (uint32_t address = 0; address < ADDRESSES; address++) {
            snprintf(name, sizeof name, "%02X%02X00000082FFA0", address, bus);
            if (!put(&p, bus, 0x18EEFF00u | address, name) ||
                !put(&p, bus, 0x18FEF100u | address, "FFFFFFFFFFFFFFFF"))
                return false;
        }
    return true;
}

bool flow_groups(FILE *out)
{
    struct pen p = {out, 0};

    for (uint32_t group = 0; group < UINT32_C(1) << 18; group++)
        if (!put(&p, 0, 0x18000000u | group << 8 | (group % ADDRESSES), "0102030405060708"))
            return false;
    return true;
}

/* DM1 in a single frame (SAE J1939-73): lamps, then SPN, FMI and count of one code. */
bool flow_codes(FILE *out)
{
    struct pen p = {out, 0};
    char data[17];

    for (uint32_t i = 0; i < 1000000; i++) {
        uint32_t spn = i / 20 + 1, fmi = i % 20;
        snprintf(data, sizeof data, "04FF%02X%02X%02X01FFFF", spn & 0xFFu, spn >> 8 & 0xFFu,
                 (spn >> 16 & 7u) << 5 | fmi);
        if (!put(&p, 0, 0x18FECA00u | (i % ADDRESSES), data))
            return false;
    }
    return true;
}

/* TP.CM: a request to send, 1785 bytes (J1939-21). */
bool flow_sessions(FILE *out)
{
    struct pen p = {out, 0};

    for (uint32_t i = 0; i < 100000; i++) {
        uint32_t source = i % ADDRESSES, destination = i / ADDRESSES % ADDRESSES;
        unsigned bus = i / (ADDRESSES * ADDRESSES);
        if (!put(&p, bus, 0x1CEC0000u | destination << 8 | source, "10F906FFFFCAFE00"))
            return false;
    }
    return true;
}

bool flow_broadcasts(FILE *out)
{
    struct pen p = {out, 0};

    for (uint32_t i = 0; i < 50000; i++) {
        uint32_t source = i % ADDRESSES;
        unsigned bus = i / ADDRESSES % 60;
        if (!put(&p, bus, 0x1CECFF00u | source, "20F906FFFFCAFE00") ||
            !put(&p, bus, 0x1CEBFF00u | source, "0101020304050607"))
            return false;
    }
    return true;
}

bool flow_interfaces(FILE *out)
{
    struct pen p = {out, 0};

    for (unsigned i = 0; i < 700; i++)
        if (!put(&p, i % 70, 0x18FEF100u, "FFFFFFFFFFFFFFFF"))
            return false;
    return true;
}

static bool repeat(FILE *out, const char *piece, size_t length, uint64_t total)
{
    for (uint64_t done = 0; done < total; done += length)
        if (fwrite(piece, 1, length, out) != length)
            return false;
    return true;
}

bool flow_long_line(FILE *out)
{
    static char piece[PIECE];
    struct pen p = {out, 0};

    memset(piece, 'x', sizeof piece);
    return put(&p, 0, 0x18FEF100u, "FFFFFFFFFFFFFFFF") && repeat(out, piece, PIECE, GIGABYTE) &&
           fputc('\n', out) != EOF && put(&p, 0, 0x18FEF100u, "FFFFFFFFFFFFFFFF");
}

/* A gzip member of PACKED_PIECES times the piece, written until a gigabyte would come out. */
static bool repeat_packed(FILE *out, const char *piece, size_t length)
{
    z_stream z = {0};
    size_t room = PACKED_PIECES * (size_t)PIECE / 4;
    unsigned char *packed = malloc(room);
    bool sound = packed && deflateInit2(&z, 9, Z_DEFLATED, MAX_WBITS + 16, 9,
                                        Z_DEFAULT_STRATEGY) == Z_OK;

    z.next_out = packed;
    z.avail_out = (uInt)room;
    for (unsigned i = 0; sound && i < PACKED_PIECES; i++) {
        z.next_in = (z_const Bytef *)piece;
        z.avail_in = (uInt)length;
        int status = deflate(&z, i + 1 < PACKED_PIECES ? Z_NO_FLUSH : Z_FINISH);
        sound = status == Z_OK || status == Z_STREAM_END;
    }
    size_t member = z.total_out;
    for (uint64_t done = 0; sound && done < GIGABYTE; done += PACKED_PIECES * (uint64_t)length)
        sound = fwrite(packed, 1, member, out) == member;
    deflateEnd(&z);
    free(packed);
    return sound;
}

bool flow_packed_zeros(FILE *out)
{
    static char piece[PIECE];
    return repeat_packed(out, piece, sizeof piece);
}

bool flow_packed_frames(FILE *out)
{
    static const char line[] = "(1700000000.000001) can0 18FEF100#FFFFFFFFFFFFFFFF\n";
    static char piece[PIECE];
    size_t length = 0;

    for (; length + sizeof line - 1 <= sizeof piece; length += sizeof line - 1)
        memcpy(piece + length, line, sizeof line - 1);
    return repeat_packed(out, piece, length);
}

bool flow_deep_json(FILE *out)
{
    for (unsigned i = 0; i < 1000000; i++)
        if (fputc('[', out) == EOF)
            return false;
    return true;
}

bool flow_large_json(FILE *out)
{
    if (fputs("[0", out) == EOF)
        return false;
    for (unsigned i = 0; i < 4u << 20; i++)
        if (fputs(",0", out) == EOF)
            return false;
    return fputc(']', out) != EOF;
}

bool flow_many_members(FILE *out)
{
    if (fputs("{\"schema\":\"drawbar-messages/1\"", out) == EOF)
        return false;
    for (unsigned i = 0; i < 300000; i++)
        if (fprintf(out, ",\"k%x\":0", i) < 0)
            return false;
    return fputc('}', out) != EOF;
}

#define REPORT_HEAD "{\"schema\":\"drawbar-report/1\",\"recording\":{\"files\":[{\"path\":\"a.log\"}]},"

/* As check --for-inbox would write it, but for the numbers. */
static bool report_of(FILE *out, unsigned findings)
{
    fputs(REPORT_HEAD "\"ecus\":[", out);
    for (unsigned i = 0; i < findings; i++)
        fprintf(out, "%s{\"interface\":\"can%u\",\"address\":1,\"name\":\"A00000000000%04X\"}",
                i > 0 ? "," : "", i, i % 0xFFFFu);
    fputs("],\"verdict\":{\"sentence\":\"\",\"root_causes\":[0", out);
    for (unsigned i = 1; i < findings; i++)
        fprintf(out, ",%u", i);
    fputs("]},\"findings\":[", out);
    for (unsigned i = 0; i < findings; i++)
        fprintf(out, "%s{\"code\":\"c-%u\",\"severity\":\"fault\",\"interface\":\"can%u\",\"address\":1}",
                i > 0 ? "," : "", i, i);
    return fputs("]}", out) != EOF;
}

bool flow_report(FILE *out)
{
    return report_of(out, 20000);
}

bool flow_vast_report(FILE *out)
{
    return report_of(out, 100000);
}

/* Texts under names: what takes most once it is read. Then one text up to the last byte. */
bool flow_heavy_report(FILE *out)
{
    long left = DBR_INBOX_REPORT_MAX;

    left -= fprintf(out, REPORT_HEAD "\"more\":[");
    for (unsigned i = 0; i + 20 < DBR_INBOX_REPORT_VALUES_MAX / 2; i++)
        left -= fprintf(out, "%s{\"a\":\"b\"}", i > 0 ? "," : "");
    left -= fprintf(out, "],\"findings\":[{\"code\":\"c\",\"title\":\"");
    for (; left > 4; left--)
        if (fputc('x', out) == EOF)
            return false;
    return fputs("\"}]}", out) != EOF;
}

bool flow_dense_report(FILE *out)
{
    fputs(REPORT_HEAD "\"findings\":[0", out);
    for (unsigned i = 0; i < 1500000; i++)
        if (fputs(",0", out) == EOF)
            return false;
    return fputs("]}", out) != EOF;
}
