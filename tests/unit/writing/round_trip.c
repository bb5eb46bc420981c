/*
 * What is written and read again is the same frame: in every form, plain and gzip'd, with every
 * kind of frame, by our own reader and, for pcap, by libpcap.
 */
#include <criterion/criterion.h>
#include <pcap/pcap.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/writing.h"
#include "support/readout.h"

#define S INT64_C(1000000000)
#define START (1717000000 * S + 123456789)

static const char *const two_names[] = {"can0", "vcan1"};

/* Every kind of frame that a recording holds. */
static const struct dbr_frame kinds[] = {
    {.at_ns = 0, .id = 0x18FEF100, .flags = DBR_FRAME_EXTENDED, .length = 8,
     .data = {1, 2, 3, 4, 5, 6, 7, 8}},
    {.at_ns = 1, .id = 0x7FF, .length = 0},
    {.at_ns = 999999, .id = 0x123, .flags = DBR_FRAME_SENT, .length = 3, .data = {0xAA, 0, 0xFF}},
    {.at_ns = 1000000, .id = 0x1CFFFFFE, .flags = DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE,
     .length = 8},
    {.at_ns = 1000001, .id = 0, .flags = DBR_FRAME_REMOTE, .length = 0},
    {.at_ns = 2000000, .id = 0x88, .flags = DBR_FRAME_ERROR, .length = 8, .data = {0, 0, 2, 0x19}},
    {.at_ns = 3 * S, .id = 0x100, .flags = DBR_FRAME_FD, .length = 12, .data = {[11] = 9}},
    {.at_ns = 4 * S, .id = 0x1FFFFFFF, .length = 64,
     .flags = DBR_FRAME_EXTENDED | DBR_FRAME_FD | DBR_FRAME_BRS | DBR_FRAME_ESI,
     .data = {[0] = 1, [63] = 2}},
    {.at_ns = 5 * S, .id = 0x18F00400, .flags = DBR_FRAME_EXTENDED, .length = 8, .raw_dlc = 13,
     .data = {8, 7, 6, 5, 4, 3, 2, 1}},
    {.at_ns = 86400 * S, .id = 0x0CFE48F0, .flags = DBR_FRAME_EXTENDED, .length = 8,
     .data = {0xFF, 0xFF}},
};

#define KINDS (sizeof kinds / sizeof kinds[0])

static struct bytes write_all(const struct dbr_writing_options *options,
                              const struct dbr_frame *frames, size_t count)
{
    struct dbr_writer *writer;
    struct dbr_error error;
    struct bytes content = {0};
    char *text = NULL;
    size_t length = 0;
    FILE *file = open_memstream(&text, &length);

    cr_assert_eq(dbr_writer_open(&writer, file, options, &error), 0, "%s", error.text);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(dbr_writer_frame(writer, &frames[i], &error), 0, "%s", error.text);
    cr_assert_eq(dbr_writer_close(writer, &error), 0);
    fclose(file);
    bytes_add(&content, text, length);
    free(text);
    return content;
}

static void expect_same(const struct dbr_frame *read, const struct dbr_frame *written, size_t i)
{
    cr_expect_eq(read->at_ns, written->at_ns, "frame %zu", i);
    cr_expect_eq(read->id, written->id, "frame %zu", i);
    cr_expect_eq(read->flags, written->flags, "frame %zu: %02x, %02x", i, read->flags,
                 written->flags);
    cr_expect_eq(read->length, written->length, "frame %zu", i);
    cr_expect_eq(read->raw_dlc, written->raw_dlc, "frame %zu", i);
    cr_expect_eq(read->interface, written->interface, "frame %zu", i);
    cr_expect_arr_eq(read->data, written->data, sizeof read->data, "frame %zu", i);
}

static void expect_round_trip(const struct dbr_writing_options *options,
                              const struct dbr_frame *frames, size_t count)
{
    struct bytes content = write_all(options, frames, count);
    struct readout *r = readout_bytes(&content);

    readout_expect_sound(r, count);
    for (size_t i = 0; i < count; i++)
        expect_same(&r->frames[i], &frames[i], i);
    cr_expect_eq(r->info->time_base, options->time_base);
    if (options->time_base != DBR_TIME_NONE)
        cr_expect_eq(r->info->start_ns, options->start_ns);
    readout_free(r);
    bytes_free(&content);
}

Test(writing, every_kind_of_frame_in_every_form)
{
    for (int form = DBR_FORM_TEXT; form <= DBR_FORM_PCAPNG; form++)
        for (int compress = 0; compress < 2; compress++) {
            struct dbr_writing_options options = {.form = (enum dbr_form)form,
                                                  .compress = compress,
                                                  .time_base = DBR_TIME_EPOCH,
                                                  .start_ns = START,
                                                  .directions = true,
                                                  .interface_count = 1,
                                                  .interfaces = two_names};
            expect_round_trip(&options, kinds, KINDS);
        }
}

Test(writing, several_interfaces_keep_their_names)
{
    struct dbr_frame frames[KINDS];

    memcpy(frames, kinds, sizeof frames);
    for (size_t i = 0; i < KINDS; i++)
        frames[i].interface = i % 2;
    for (int form = DBR_FORM_TEXT; form <= DBR_FORM_PCAPNG; form += DBR_FORM_PCAPNG) {
        struct dbr_writing_options options = {.form = (enum dbr_form)form,
                                              .time_base = DBR_TIME_EPOCH,
                                              .start_ns = START,
                                              .interface_count = 2,
                                              .interfaces = two_names};
        expect_round_trip(&options, frames, KINDS);
        struct bytes content = write_all(&options, frames, KINDS);
        struct readout *r = readout_bytes(&content);
        cr_expect_str_eq(r->info->interfaces[0], "can0");
        cr_expect_str_eq(r->info->interfaces[1], "vcan1");
        readout_free(r);
        bytes_free(&content);
    }
}

Test(writing, without_stamps_text_is_of_the_console_form)
{
    struct dbr_frame frames[KINDS];

    memcpy(frames, kinds, sizeof frames);
    for (size_t i = 0; i < KINDS; i++)
        frames[i].at_ns = 0;
    struct dbr_writing_options options = {.form = DBR_FORM_TEXT,
                                          .time_base = DBR_TIME_NONE,
                                          .interface_count = 1,
                                          .interfaces = two_names};
    expect_round_trip(&options, frames, KINDS);
}

Test(writing, stamps_that_count_from_some_moment_stay_such)
{
    for (int form = DBR_FORM_TEXT; form <= DBR_FORM_PCAPNG; form++) {
        struct dbr_writing_options options = {.form = (enum dbr_form)form,
                                              .time_base = DBR_TIME_RELATIVE,
                                              .start_ns = 12 * S + 345678000,
                                              .directions = true,
                                              .interface_count = 1,
                                              .interfaces = two_names};
        expect_round_trip(&options, kinds, KINDS);
    }
}

/* libpcap is the reference of the form. */
Test(writing, libpcap_reads_the_same_bytes)
{
    struct dbr_writing_options options = {.form = DBR_FORM_PCAP,
                                          .time_base = DBR_TIME_EPOCH,
                                          .start_ns = START,
                                          .interface_count = 1,
                                          .interfaces = two_names};
    struct bytes content = write_all(&options, kinds, KINDS);
    char why[PCAP_ERRBUF_SIZE];
    FILE *file = fmemopen(content.data, content.length, "rb");
    pcap_t *pcap = pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, why);

    cr_assert_not_null(pcap, "%s", why);
    cr_expect_eq(pcap_datalink(pcap), DLT_CAN_SOCKETCAN);
    struct pcap_pkthdr *header;
    const u_char *packet;
    for (size_t i = 0; i < KINDS; i++) {
        cr_assert_eq(pcap_next_ex(pcap, &header, &packet), 1);
        int64_t stamp = header->ts.tv_sec * S + header->ts.tv_usec;
        cr_expect_eq(stamp, START + kinds[i].at_ns);
        bool remote = kinds[i].flags & DBR_FRAME_REMOTE;
        cr_expect_eq(header->caplen, remote ? 8u : 8u + kinds[i].length);
        cr_expect_eq(packet[4], kinds[i].length);
        cr_expect_arr_eq(packet + 8, kinds[i].data, header->caplen - 8);
    }
    cr_expect_eq(pcap_next_ex(pcap, &header, &packet), PCAP_ERROR_BREAK);
    pcap_close(pcap);
    bytes_free(&content);
}

static void expect_refused(struct dbr_writing_options options, const char *words)
{
    struct dbr_writer *writer;
    struct dbr_error error;
    FILE *file = tmpfile();

    cr_expect_eq(dbr_writer_open(&writer, file, &options, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_USAGE);
    cr_expect_not_null(strstr(error.text, words), "%s", error.text);
    cr_expect_null(writer);
    fclose(file);
}

Test(writing, what_a_form_cannot_hold_is_refused)
{
    static const char *const bad[] = {"can 0", "", "#can", "(1)", "a\nb", "a\tb",
                                      "a\xC2\x9B-b" /* C1 */, "a\xE2\x80\xAE" /* turns */,
                                      "a\xFF" /* no UTF-8 */};

    expect_refused((struct dbr_writing_options){.form = DBR_FORM_PCAP,
                                                .time_base = DBR_TIME_EPOCH,
                                                .interface_count = 2,
                                                .interfaces = two_names},
                   "pcap holds one interface");
    for (int form = DBR_FORM_PCAP; form <= DBR_FORM_PCAPNG; form++)
        expect_refused((struct dbr_writing_options){.form = (enum dbr_form)form,
                                                    .time_base = DBR_TIME_NONE,
                                                    .interface_count = 1,
                                                    .interfaces = two_names},
                       "needs time stamps");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        expect_refused((struct dbr_writing_options){.form = DBR_FORM_TEXT,
                                                    .time_base = DBR_TIME_EPOCH,
                                                    .interface_count = 1,
                                                    .interfaces = &bad[i]},
                       "text cannot hold");
}

Test(writing, a_full_disk_is_an_error)
{
    for (int compress = 0; compress < 2; compress++) {
        struct dbr_writing_options options = {.form = DBR_FORM_TEXT,
                                              .compress = compress,
                                              .time_base = DBR_TIME_EPOCH,
                                              .interface_count = 1,
                                              .interfaces = two_names};
        struct dbr_writer *writer;
        struct dbr_error error;
        FILE *file = fopen("/dev/full", "wb");
        cr_assert_eq(dbr_writer_open(&writer, file, &options, &error), 0);
        dbr_writer_frame(writer, &kinds[0], &error);
        cr_expect_eq(dbr_writer_close(writer, &error), -1);
        cr_expect_eq(error.code, DBR_ERROR_WRITE);
        cr_expect_not_null(strstr(error.text, "No space left"), "%s", error.text);
        fclose(file);
    }
}

Test(writing, a_time_that_does_not_fit_is_an_error)
{
    struct dbr_writing_options options = {.form = DBR_FORM_PCAP,
                                          .time_base = DBR_TIME_EPOCH,
                                          .start_ns = (INT64_C(1) << 32) * S,
                                          .interface_count = 1,
                                          .interfaces = two_names};
    struct dbr_writer *writer;
    struct dbr_error error;
    FILE *file = tmpfile();

    cr_assert_eq(dbr_writer_open(&writer, file, &options, &error), 0);
    cr_expect_eq(dbr_writer_frame(writer, &kinds[0], &error), -1);
    cr_expect_not_null(strstr(error.text, "2106"), "%s", error.text);
    dbr_writer_close(writer, NULL);
    fclose(file);
}

Test(writing, the_ending_of_a_name_tells_the_form)
{
    static const struct {
        const char *name;
        bool known;
        enum dbr_form form;
        bool compress;
    } rows[] = {
        {"a.log", true, DBR_FORM_TEXT, false},      {"a.b.TXT", true, DBR_FORM_TEXT, false},
        {"dir.d/a.candump.gz", true, DBR_FORM_TEXT, true}, {"a.pcap", true, DBR_FORM_PCAP, false},
        {"a.pcapng", true, DBR_FORM_PCAPNG, false}, {"a.pcapng.GZ", true, DBR_FORM_PCAPNG, true},
        {"a", false, 0, false},                     {"log", false, 0, false},
        {".log", false, 0, false},                  {"a.gz", false, 0, true},
        {"a.logs", false, 0, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        enum dbr_form form = DBR_FORM_TEXT;
        bool compress = false;
        cr_expect_eq(dbr_form_of_name(rows[i].name, &form, &compress), rows[i].known, "%s",
                     rows[i].name);
        cr_expect_eq(compress, rows[i].compress, "%s", rows[i].name);
        if (rows[i].known)
            cr_expect_eq(form, rows[i].form, "%s", rows[i].name);
    }
}
