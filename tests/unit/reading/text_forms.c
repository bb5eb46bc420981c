/* Lines of text that hold a frame: every form, and what comes out of it. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "support/readout.h"

#define EXT DBR_FRAME_EXTENDED
#define FD DBR_FRAME_FD

struct form {
    const char *line;
    uint32_t id;
    int flags;
    uint8_t length;
    const char *data; /* as hexadecimal digits */
    uint8_t raw_dlc;
};

static const struct form log_forms[] = {
    {"(1717000000.123456) can0 18FEF100#FF00112233445566", 0x18FEF100, EXT, 8, "FF00112233445566", 0},
    {"(1717000000.123456) can0 123#", 0x123, 0, 0, "", 0},
    {"(1717000000.123456) can0 00000123#01", 0x123, EXT, 1, "01", 0},
    {"(1717000000.123456) can0 7ff#aBcD", 0x7FF, 0, 2, "ABCD", 0},
    {"(1717000000.123456) can0 1fffffff#00", 0x1FFFFFFF, EXT, 1, "00", 0},
    {"(1717000000.123456)  can0\t123#11.22.33", 0x123, 0, 3, "112233", 0},
    {"   (1717000000.123456) can0 123#11   ", 0x123, 0, 1, "11", 0},
    {"(0.5) 0 123#11", 0x123, 0, 1, "11", 0},
    {"(1717000000) can0 123#11", 0x123, 0, 1, "11", 0},
    {"(1717000000.123456789) can0 123#11", 0x123, 0, 1, "11", 0},
    {"can0 123#11", 0x123, 0, 1, "11", 0},
    /* Directions. */
    {"(1717000000.123456) can0 123#11 R", 0x123, 0, 1, "11", 0},
    {"(1717000000.123456) can0 123#11 T", 0x123, DBR_FRAME_SENT, 1, "11", 0},
    {"(1717000000.123456) can0 123# T", 0x123, DBR_FRAME_SENT, 0, "", 0},
    /* Length codes 9 to 15, which on a classical bus mean 8 bytes. */
    {"(1717000000.123456) can0 123#1122334455667788_9", 0x123, 0, 8, "1122334455667788", 9},
    {"(1717000000.123456) can0 123#1122334455667788_F T", 0x123, DBR_FRAME_SENT, 8, "1122334455667788", 15},
    {"(1717000000.123456) can0 123#1122334455667788_b", 0x123, 0, 8, "1122334455667788", 11},
    /* Remote requests. */
    {"(1717000000.123456) can0 123#R", 0x123, DBR_FRAME_REMOTE, 0, "", 0},
    {"(1717000000.123456) can0 18EAFFFE#R3", 0x18EAFFFE, EXT | DBR_FRAME_REMOTE, 3, "", 0},
    {"(1717000000.123456) can0 123#r8", 0x123, DBR_FRAME_REMOTE, 8, "", 0},
    {"(1717000000.123456) can0 123#R8_E", 0x123, DBR_FRAME_REMOTE, 8, "", 14},
    {"(1717000000.123456) can0 123#R2 T", 0x123, DBR_FRAME_REMOTE | DBR_FRAME_SENT, 2, "", 0},
    /* Error frames: class bits in the identifier. */
    {"(1717000000.123456) can0 20000080#0000000000000000", 0x080, DBR_FRAME_ERROR, 8, "0000000000000000", 0},
    {"(1717000000.123456) can0 20000204#0004000000006000", 0x204, DBR_FRAME_ERROR, 8, "0004000000006000", 0},
    /* CAN FD: a digit of flags (1 bit-rate switch, 2 error state, 4 FD), then up to 64 bytes. */
    {"(1717000000.123456) can0 123##0", 0x123, FD, 0, "", 0},
    {"(1717000000.123456) can0 123##1112233", 0x123, FD | DBR_FRAME_BRS, 3, "112233", 0},
    {"(1717000000.123456) can0 18FEF100##2AA", 0x18FEF100, EXT | FD | DBR_FRAME_ESI, 1, "AA", 0},
    {"(1717000000.123456) can0 123##7AA", 0x123, FD | DBR_FRAME_BRS | DBR_FRAME_ESI, 1, "AA", 0},
    {"(1717000000.123456) can0 123##4000102030405060708090A0B", 0x123, FD, 12, "000102030405060708090A0B", 0},
};

static const struct form console_forms[] = {
    {"  can0  18FEF100   [8]  FF 00 11 22 33 44 55 66", 0x18FEF100, EXT, 8, "FF00112233445566", 0},
    {"can0 123 [0]", 0x123, 0, 0, "", 0},
    {"  can0       123   [2]  1a Bc", 0x123, 0, 2, "1ABC", 0},
    {" (1717000000.123456)  can0  123   [1]  11", 0x123, 0, 1, "11", 0},
    {" (2024-05-29 16:26:40.123456)  can0  123   [1]  11", 0x123, 0, 1, "11", 0},
    {" (000.000000)  vcan-left.1  123   [1]  11", 0x123, 0, 1, "11", 0},
    /* The bytes once more as text, which may look like anything. */
    {"  can0  123   [3]  41 42 00   'AB.'", 0x123, 0, 3, "414200", 0},
    {"  can0  123   [2]  41 20   'A '", 0x123, 0, 2, "4120", 0},
    {"  can0  123   [3]  23 27 5B   '#'['", 0x123, 0, 3, "23275B", 0},
    /* Swapped view: last byte first, back-ticks between. */
    {"  can0  123   [3]  33`22`11", 0x123, 0, 3, "112233", 0},
    {"  can0  123   [8]  88`77`66`55`44`33`22`11   `........`", 0x123, 0, 8, "1122334455667788", 0},
    {"  can0  123   [1]  11", 0x123, 0, 1, "11", 0},
    /* Length codes. */
    {"  can0  123   {B}  11 22 33 44 55 66 77 88", 0x123, 0, 8, "1122334455667788", 11},
    {"  can0  123   {8}  11 22 33 44 55 66 77 88", 0x123, 0, 8, "1122334455667788", 0},
    {"  can0  123   {2}  11 22", 0x123, 0, 2, "1122", 0},
    {"  can0  123   {F}  remote request", 0x123, DBR_FRAME_REMOTE, 8, "", 15},
    /* Remote requests. */
    {"  can0  123   [0]  remote request", 0x123, DBR_FRAME_REMOTE, 0, "", 0},
    {"  can0  18EAFFFE   [3]  remote request", 0x18EAFFFE, EXT | DBR_FRAME_REMOTE, 3, "", 0},
    /* Directions and the two flag columns. */
    {"  can0  RX - -  123   [1]  11", 0x123, 0, 1, "11", 0},
    {"  can0  TX - -  123   [1]  11", 0x123, DBR_FRAME_SENT, 1, "11", 0},
    {"  can0  RX B -  123  [01]  11", 0x123, FD | DBR_FRAME_BRS, 1, "11", 0},
    {"  can0  TX B E  123  [02]  11 22", 0x123, DBR_FRAME_SENT | FD | DBR_FRAME_BRS | DBR_FRAME_ESI, 2, "1122", 0},
    {"  can0  RX - E  123  [01]  11", 0x123, FD | DBR_FRAME_ESI, 1, "11", 0},
    /* CAN FD has two digits of length. */
    {"  can0  123  [00]", 0x123, FD, 0, "", 0},
    {"  can0  123  [12]  00 01 02 03 04 05 06 07 08 09 0A 0B", 0x123, FD, 12, "000102030405060708090A0B", 0},
    /* Error frames. */
    {"  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME", 0x088, DBR_FRAME_ERROR, 8, "0000020000000000", 0},
    {"  can0  RX - -  20000040   [8]  00 00 00 00 00 00 00 00   ERRORFRAME", 0x040, DBR_FRAME_ERROR, 8, "0000000000000000", 0},
};

static void expect_frame(const struct form *form, const struct dbr_frame *frame)
{
    char hex[2 * DBR_FD_DATA_MAX + 1] = "";

    for (size_t i = 0; i < strlen(form->data) / 2; i++)
        snprintf(hex + 2 * i, 3, "%02X", frame->data[i]);
    cr_expect_eq(frame->id, form->id, "%s: id %X", form->line, frame->id);
    cr_expect_eq(frame->flags, form->flags, "%s: flags %X", form->line, frame->flags);
    cr_expect_eq(frame->length, form->length, "%s: length %u", form->line, frame->length);
    cr_expect_eq(frame->raw_dlc, form->raw_dlc, "%s: raw code %u", form->line, frame->raw_dlc);
    cr_expect_str_eq(hex, form->data, "%s: data %s", form->line, hex);
}

/* Each form as a recording of its own, as most writers end their lines, and not at all. */
static void expect_forms(const struct form *forms, size_t count, const char *format)
{
    static const char *const ends[] = {"\n", "\r\n", "", "\r", " \t\r\n"};
    char text[512];

    for (size_t i = 0; i < count; i++)
        for (size_t e = 0; e < sizeof ends / sizeof ends[0]; e++) {
            snprintf(text, sizeof text, "%s%s", forms[i].line, ends[e]);
            struct readout *r = readout_text(text);
            cr_assert_eq(r->result, 0, "%s: %s", forms[i].line, r->error.text);
            readout_expect_sound(r, 1);
            cr_expect_str_eq(r->file->format, format, "%s", forms[i].line);
            cr_expect(r->file->by_line);
            expect_frame(&forms[i], &r->frames[0]);
            readout_free(r);
        }
}

Test(reading_text, log_forms)
{
    expect_forms(log_forms, sizeof log_forms / sizeof log_forms[0], "candump-log");
}

Test(reading_text, console_forms)
{
    expect_forms(console_forms, sizeof console_forms / sizeof console_forms[0], "candump-console");
}

/* Both kinds of line in one file, in the order of the table: nothing carries over between lines. */
Test(reading_text, forms_do_not_disturb_each_other)
{
    struct bytes text = {0};
    const size_t logs = sizeof log_forms / sizeof log_forms[0];
    const size_t consoles = sizeof console_forms / sizeof console_forms[0];

    for (size_t i = 0; i < logs; i++)
        bytes_text(&text, "%s\n", log_forms[i].line);
    for (size_t i = 0; i < consoles; i++)
        bytes_text(&text, "%s\n", console_forms[i].line);
    struct readout *r = readout_bytes(&text);
    readout_expect_sound(r, logs + consoles);
    /* A sent frame and the same frame received are halves of one: copies are not the matter here. */
    for (size_t i = 0; i < r->count; i++) {
        r->frames[i].flags &= (uint8_t)~DBR_FRAME_COPY;
        expect_frame(i < logs ? &log_forms[i] : &console_forms[i - logs], &r->frames[i]);
    }
    readout_free(r);
    bytes_free(&text);
}

/* ISO 11898-1: data of FD frames grows in steps above 8 bytes. */
Test(reading_text, every_length_of_fd)
{
    static const int sound[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64};
    size_t next = 0;

    for (int length = 0; length <= 64; length++) {
        struct bytes text = {0};
        bytes_text(&text, "(1.0) can0 001#\n(2.0) can0 123##0");
        for (int i = 0; i < length; i++)
            bytes_text(&text, "%02X", i);
        bytes_text(&text, "\n(3.0) can0 123  [%02d] ", length);
        for (int i = 0; i < length; i++)
            bytes_text(&text, " %02X", i);
        bytes_text(&text, "\n");
        struct readout *r = readout_bytes(&text);
        if (sound[next] == length) {
            next++;
            readout_expect_sound(r, 3);
            for (int i = 0; i < length; i++)
                cr_assert(r->frames[1].data[i] == i && r->frames[2].data[i] == i);
            cr_assert(r->frames[1].length == length && r->frames[2].length == length);
        } else {
            readout_expect_rejected(r, DBR_REJECTION_FD_LENGTH, 2, 2);
        }
        readout_free(r);
        bytes_free(&text);
    }
}

Test(reading_text, interfaces_are_told_apart)
{
    struct readout *r = readout_text("(1.0) can0 001#\n(1.1) can1 002#\n(1.2) can0 003#\n"
                                     "(1.3) can 004#\n(1.4) 1 005#\n(1.5) can1 006#\n");
    static const char *const names[] = {"can0", "can1", "can0", "can", "1", "can1"};

    readout_expect_sound(r, 6);
    cr_assert_eq(r->info->interface_count, 4);
    for (size_t i = 0; i < r->count; i++)
        cr_expect_str_eq(r->info->interfaces[r->frames[i].interface], names[i]);
    readout_free(r);
}
