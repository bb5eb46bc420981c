/* Classic capture files: what stands around the packets, and damage to it. */
#include <criterion/criterion.h>

#include "support/capture.h"
#include "support/readout.h"

#define S INT64_C(1000000000)

static const struct wire frame = {.link = LINK_CAN, .id = ID_EXTENDED | 0x18FEF100, .length = 8,
                                  .data = {1, 2, 3, 4, 5, 6, 7, 8}, .data_bytes = 8};

Test(reading_pcap, both_byte_orders_and_both_resolutions)
{
    static const struct {
        bool big_endian;
        uint32_t magic, fraction;
        int64_t ns;
    } rows[] = {{false, MAGIC_MICROSECONDS, 500001, 500001000},
                {true, MAGIC_MICROSECONDS, 500001, 500001000},
                {false, MAGIC_NANOSECONDS, 500000001, 500000001},
                {true, MAGIC_NANOSECONDS, 500000001, 500000001}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bytes file = {.big_endian = rows[i].big_endian};
        pcap_start(&file, rows[i].magic, LINK_CAN);
        pcap_packet(&file, 1717000000, 0, &frame);
        pcap_packet(&file, 1717000001, rows[i].fraction, &frame);
        struct readout *r = readout_bytes(&file);
        readout_expect_sound(r, 2);
        cr_expect_eq(r->info->time_base, DBR_TIME_EPOCH);
        cr_expect_eq(r->info->start_ns, 1717000000 * S);
        cr_expect_eq(r->frames[1].at_ns, S + rows[i].ns, "row %zu", i);
        cr_expect_str_eq(r->file->format, "pcap");
        readout_free(r);
        bytes_free(&file);
    }
}

/* The file has 32 bits of seconds: to the year 2106. */
Test(reading_pcap, stamps_beyond_2038_and_stamps_that_are_none)
{
    for (int big_endian = 0; big_endian < 2; big_endian++) {
        struct bytes file = {.big_endian = big_endian};
        pcap_start(&file, MAGIC_NANOSECONDS, LINK_CAN);
        pcap_packet(&file, 0x7FFFFFFFu, 0, &frame);
        pcap_packet(&file, 0x80000001u, 0, &frame);
        pcap_packet(&file, 0x80000002u, 2000000000, &frame);
        pcap_packet(&file, 0x80000002u, 0xFFFFFFFFu, &frame);
        struct readout *r = readout_bytes(&file);
        cr_expect_eq(r->info->steps_back.count, 0);
        cr_expect_eq(r->info->last_ns, 2 * S);
        cr_expect_eq(r->count, 2);
        readout_expect_rejected(r, DBR_REJECTION_BAD_STAMP, 2, 3);
        readout_free(r);
        bytes_free(&file);
    }
}

/* Cut at every byte: whole packets come out, a cut one is one rejection, nothing else changes. */
Test(reading_pcap, a_cut_at_any_place)
{
    struct bytes file = {0};
    const size_t packet = 16 + 16;

    pcap_start(&file, MAGIC_MICROSECONDS, LINK_CAN);
    const size_t header = file.length;
    for (unsigned i = 0; i < 3; i++)
        pcap_packet(&file, 1000000000 + i, 0, &frame);
    const size_t length = file.length;
    for (file.length = 4; file.length < length; file.length++) {
        struct readout *r = readout_bytes(&file);
        if (file.length < header) {
            cr_assert_eq(r->result, -1);
            cr_expect_eq(r->error.code, DBR_ERROR_FORMAT);
            readout_free(r);
            continue;
        }
        size_t whole = (file.length - header) / packet;
        bool cut = (file.length - header) % packet != 0;
        cr_expect_eq(r->result, whole > 0 ? 0 : -1);
        cr_expect_eq(r->count, whole);
        readout_expect_rejected(r, DBR_REJECTION_PACKET_CUT, cut, cut ? whole + 1 : 0);
        cr_expect_eq(r->file->truncated, cut);
        readout_free(r);
    }
    bytes_free(&file);
}

Test(reading_pcap, a_packet_of_impossible_length_ends_the_file)
{
    struct bytes file = {0};

    pcap_start(&file, MAGIC_MICROSECONDS, LINK_CAN);
    pcap_packet(&file, 1000000000, 0, &frame);
    bytes_integer(&file, 1000000001, 4);
    bytes_integer(&file, 0, 4);
    bytes_integer(&file, 0xFFFFFFF0u, 4);
    bytes_integer(&file, 0xFFFFFFF0u, 4);
    bytes_repeat(&file, 0, 4096);
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->count, 1);
    readout_expect_rejected(r, DBR_REJECTION_PACKET_CUT, 1, 2);
    cr_expect(r->file->truncated);
    readout_free(r);
    bytes_free(&file);
}
