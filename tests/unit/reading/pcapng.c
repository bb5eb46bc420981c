/*
 * Next-generation capture files: sections, interfaces, packets, and damage to them.
 * Layout: draft-ietf-opsawg-pcapng, section 4 and appendix A.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/capture.h"
#include "support/readout.h"

#define S INT64_C(1000000000)

Test(reading_pcapng, both_byte_orders)
{
    for (int big_endian = 0; big_endian < 2; big_endian++) {
        struct bytes file = pcapng_start(big_endian);
        pcapng_packet(&file, 0, microseconds(1717000000), &pcapng_wire, NULL);
        pcapng_packet(&file, 0, microseconds(1717000001) + 500001, &pcapng_wire, NULL);
        struct readout *r = readout_bytes(&file);
        readout_expect_sound(r, 2);
        cr_expect_eq(r->info->time_base, DBR_TIME_EPOCH);
        cr_expect_eq(r->info->start_ns, 1717000000 * S);
        cr_expect_eq(r->frames[1].at_ns, S + 500001000);
        cr_expect_eq(r->frames[1].id, 0x18FEF100);
        cr_expect_str_eq(r->info->interfaces[0], "can0");
        cr_expect_str_eq(r->file->format, "pcapng");
        readout_free(r);
        bytes_free(&file);
    }
}

/* if_tsresol: units of 10^-n s, with the top bit of 2^-n s; if_tsoffset: seconds to add. */
Test(reading_pcapng, resolutions_and_offsets)
{
    static const struct {
        int resolution; /* -1: the option is missing */
        int64_t offset_s;
        uint64_t stamp;
        int64_t ns; /* -1: beyond what can be told */
    } rows[] = {
        {-1, 0, UINT64_C(1000000001500000), 1000000001 * S + 500000000},
        {6, 0, UINT64_C(1000000001500000), 1000000001 * S + 500000000},
        {9, 0, UINT64_C(1000000001500000007), 1000000001 * S + 500000007},
        {3, 0, UINT64_C(1000000001500), 1000000001 * S + 500000000},
        {0, 0, 1000000001, 1000000001 * S},
        {12, 1000000000, UINT64_C(1500000000007), 1000000001 * S + 500000000},
        {19, 1000000000, UINT64_C(15000000000000000000), 1000000001 * S + 500000000},
        {0x80 | 0, 0, 1000000001, 1000000001 * S},
        {0x80 | 10, 0, UINT64_C(1000000001) * 1024 + 512, 1000000001 * S + 500000000},
        {0x80 | 32, 0, (UINT64_C(1000000001) << 32) + (UINT64_C(1) << 31), 1000000001 * S + 500000000},
        {0x80 | 63, 1000000000, UINT64_C(3) << 62, 1000000001 * S + 500000000},
        {6, 1000000000, 1500000, 1000000001 * S + 500000000},
        {6, -1000000000, UINT64_C(2000000001500000), 1000000001 * S + 500000000},
        {6, INT64_MAX, 1500000, -1},
        {6, INT64_MIN, 1500000, -1},
        {6, -5, 1500000, -1}, /* before 1970 */
        {0, 0, UINT64_MAX, -1},
        {0, -10000000000, UINT64_C(11000000001), 1000000001 * S},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (int big_endian = 0; big_endian < 2; big_endian++) {
            struct bytes file = {.big_endian = big_endian}, options = {0};
            struct bytes offset = {.big_endian = big_endian};
            options.big_endian = big_endian;
            const uint8_t resolution = (uint8_t)rows[i].resolution;
            bytes_integer(&offset, (uint64_t)rows[i].offset_s, 8);
            if (rows[i].resolution >= 0)
                pcapng_option(&options, 9, &resolution, 1);
            if (rows[i].offset_s)
                pcapng_option(&options, 14, offset.data, 8);
            pcapng_option(&options, 0, NULL, 0);
            pcapng_section(&file);
            pcapng_interface(&file, LINK_CAN, &options);
            pcapng_packet(&file, 0, rows[i].stamp, &pcapng_wire, NULL);
            struct readout *r = readout_bytes(&file);
            if (rows[i].ns < 0)
                readout_expect_rejected(r, DBR_REJECTION_STAMP_RANGE, 1, 1);
            else
                cr_expect_eq(r->info->start_ns, rows[i].ns, "row %zu: %lld", i,
                             (long long)r->info->start_ns);
            readout_free(r);
            bytes_free(&file);
            bytes_free(&options);
            bytes_free(&offset);
        }
}

Test(reading_pcapng, interfaces_of_different_link_types)
{
    struct bytes file = {0};
    struct wire w = pcapng_wire;

    pcapng_section(&file);
    pcapng_named(&file, LINK_CAN, "can0");
    pcapng_named(&file, LINK_COOKED_V1, "can1");
    pcapng_named(&file, LINK_ETHERNET, "eth0");
    pcapng_interface(&file, LINK_CAN, NULL);
    pcapng_packet(&file, 0, microseconds(1000000000), &w, NULL);
    w.link = LINK_COOKED_V1;
    w.protocol = PROTOCOL_CAN;
    pcapng_packet(&file, 1, microseconds(1000000001), &w, NULL);
    w.link = LINK_ETHERNET;
    pcapng_packet(&file, 2, microseconds(1000000002), &w, NULL);
    w.link = LINK_CAN;
    pcapng_packet(&file, 7, microseconds(1000000003), &w, NULL);
    pcapng_packet(&file, 3, microseconds(1000000004), &w, NULL);
    struct readout *r = readout_bytes(&file);
    static const char *const names[] = {"can0", "can1", "unnamed 3"};
    cr_assert_eq(r->count, 3);
    for (size_t i = 0; i < 3; i++) {
        cr_expect_str_eq(r->info->interfaces[r->frames[i].interface], names[i]);
        cr_expect_eq(r->frames[i].id, 0x18FEF100);
    }
    readout_expect_rejected(r, DBR_REJECTION_LINK_TYPE, 1, 3);
    readout_expect_rejected(r, DBR_REJECTION_NO_INTERFACE, 1, 4);
    readout_free(r);
    bytes_free(&file);
}

/* Packets name interfaces by their order: a damaged description must not shift the others. */
Test(reading_pcapng, a_damaged_description_does_not_shift_the_others)
{
    struct bytes file = {0}, short_body = {0};
    const size_t bodies[] = {4, 2 * DBR_STREAM_WINDOW};

    for (size_t i = 0; i < 2; i++) {
        bytes_repeat(&short_body, 0, bodies[i]);
        pcapng_section(&file);
        pcapng_named(&file, LINK_CAN, "can0");
        pcapng_block(&file, 1, &short_body);
        pcapng_named(&file, LINK_CAN, "can2");
        for (uint32_t k = 0; k < 3; k++)
            pcapng_packet(&file, k, microseconds(1000000000 + k), &pcapng_wire, NULL);
        struct readout *r = readout_bytes(&file);
        cr_assert_eq(r->count, 2);
        cr_expect_str_eq(r->info->interfaces[r->frames[0].interface], "can0");
        cr_expect_str_eq(r->info->interfaces[r->frames[1].interface], "can2");
        readout_expect_rejected(r, DBR_REJECTION_NO_INTERFACE, 1, 2);
        readout_free(r);
        bytes_free(&file);
        bytes_free(&short_body);
    }
}

Test(reading_pcapng, more_descriptions_than_can_be_kept)
{
    struct bytes file = {0};

    pcapng_section(&file);
    for (unsigned i = 0; i <= DBR_CAPTURE_INTERFACES_MAX; i++)
        pcapng_named(&file, i < 10 ? LINK_CAN : LINK_ETHERNET, "can0");
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    pcapng_packet(&file, DBR_CAPTURE_INTERFACES_MAX, microseconds(1000000001), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->count, 1);
    readout_expect_rejected(r, DBR_REJECTION_INTERFACES, 1, 2);
    readout_free(r);
    bytes_free(&file);
}

Test(reading_pcapng, interface_names_of_every_kind)
{
    char long_name[200];
    struct bytes file = {0};

    memset(long_name, 'x', sizeof long_name - 1);
    long_name[sizeof long_name - 1] = '\0';
    pcapng_section(&file);
    pcapng_named(&file, LINK_CAN, long_name);
    pcapng_named(&file, LINK_CAN, "can0");
    pcapng_named(&file, LINK_CAN, "can0"); /* the same interface described twice */
    pcapng_named(&file, LINK_CAN, "");     /* a name that is none */
    for (uint32_t i = 0; i < 4; i++)
        pcapng_packet(&file, i, microseconds(1000000000), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    readout_expect_sound(r, 4);
    cr_expect_eq(r->info->interface_count, 3);
    cr_expect_eq(strlen(r->info->interfaces[0]), DBR_INTERFACE_NAME_MAX - 1);
    cr_expect_str_eq(r->info->interfaces[2], "unnamed 3");
    readout_free(r);
    bytes_free(&file);
}

/* Cooked v2 packets tell the host's interface themselves. */
Test(reading_pcapng, one_description_may_stand_for_all_interfaces)
{
    struct bytes file = {0};
    struct wire w = pcapng_wire;

    w.link = LINK_COOKED_V2;
    w.protocol = PROTOCOL_CAN;
    pcapng_section(&file);
    pcapng_named(&file, LINK_COOKED_V2, "any");
    for (unsigned i = 0; i < 4; i++) {
        w.host_interface = 3 + i % 2;
        pcapng_packet(&file, 0, microseconds(1000000000 + i), &w, NULL);
    }
    struct readout *r = readout_bytes(&file);
    readout_expect_sound(r, 4);
    cr_expect_eq(r->info->interface_count, 2);
    cr_expect_str_eq(r->info->interfaces[r->frames[1].interface], "index 4");
    readout_free(r);
    bytes_free(&file);
}

Test(reading_pcapng, blocks_of_other_kinds_are_passed_over_whatever_their_size)
{
    static const size_t sizes[] = {0, 4, DBR_STREAM_WINDOW, 3 * DBR_STREAM_WINDOW};
    static const uint32_t types[] = {4, 5, 10, 0x0BAD, 0x80000001u, 0};
    struct bytes file = pcapng_start(false), body = {0};

    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        bytes_repeat(&body, 0x55, sizes[s]);
        for (size_t t = 0; t < sizeof types / sizeof types[0]; t++)
            pcapng_block(&file, types[t], &body);
        bytes_free(&body);
    }
    pcapng_packet(&file, 0, microseconds(1000000001), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    readout_expect_sound(r, 2);
    cr_expect_eq(r->file->records, 2);
    readout_free(r);
    bytes_free(&file);
}

Test(reading_pcapng, all_three_kinds_of_packet_block)
{
    for (int big_endian = 0; big_endian < 2; big_endian++) {
        struct bytes file = pcapng_start(big_endian);
        pcapng_simple(&file, &pcapng_wire); /* has no stamp */
        pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
        pcapng_obsolete(&file, 0, microseconds(1000000001), &pcapng_wire);
        pcapng_simple(&file, &pcapng_wire);
        struct readout *r = readout_bytes(&file);
        static const int64_t at[] = {0, 0, S, S};
        readout_expect_sound(r, 4);
        cr_expect_eq(r->info->start_ns, 1000000000 * S);
        for (size_t i = 0; i < 4; i++) {
            cr_expect_eq(r->frames[i].id, 0x18FEF100);
            cr_expect_eq(r->frames[i].length, 8);
            cr_expect_eq(r->frames[i].at_ns, at[i], "frame %zu: %lld", i,
                         (long long)r->frames[i].at_ns);
        }
        readout_free(r);
        bytes_free(&file);
    }
}

Test(reading_pcapng, simple_packets_alone_have_no_time)
{
    struct bytes file = pcapng_start(false);

    pcapng_simple(&file, &pcapng_wire);
    pcapng_simple(&file, &pcapng_wire);
    struct readout *r = readout_bytes(&file);
    readout_expect_sound(r, 2);
    cr_expect_eq(r->info->time_base, DBR_TIME_NONE);
    readout_free(r);
    bytes_free(&file);
}

/* A section may come from another machine: its byte order and interfaces are its own. */
Test(reading_pcapng, a_second_section_starts_afresh)
{
    struct bytes file = pcapng_start(false);
    struct wire cooked = pcapng_wire;

    cooked.link = LINK_COOKED_V1;
    cooked.protocol = PROTOCOL_CAN;
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    file.big_endian = true;
    pcapng_section(&file);
    pcapng_packet(&file, 0, microseconds(1000000001), &pcapng_wire, NULL); /* not described yet */
    pcapng_named(&file, LINK_COOKED_V1, "can9");
    pcapng_packet(&file, 0, microseconds(1000000002), &cooked, NULL);
    struct readout *r = readout_bytes(&file);
    cr_assert_eq(r->count, 2);
    cr_expect_eq(r->frames[1].id, 0x18FEF100);
    cr_expect_eq(r->frames[1].at_ns, 2 * S);
    cr_expect_str_eq(r->info->interfaces[r->frames[1].interface], "can9");
    readout_expect_rejected(r, DBR_REJECTION_NO_INTERFACE, 1, 2);
    readout_free(r);
    bytes_free(&file);
}

/* Packet flags, option 2: the lowest two bits tell the direction. */
Test(reading_pcapng, outbound_packets_were_sent)
{
    static const uint32_t flags[] = {0, 1, 2, 3, 0xFFFFFFFEu};

    for (int big_endian = 0; big_endian < 2; big_endian++)
        for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++) {
            struct bytes file = pcapng_start(big_endian);
            struct bytes value = {.big_endian = big_endian}, options = {.big_endian = big_endian};
            bytes_integer(&value, flags[i], 4);
            pcapng_option(&options, 1, "a comment", 9);
            pcapng_option(&options, 2, value.data, 4);
            pcapng_option(&options, 0, NULL, 0);
            struct wire w = pcapng_wire; /* of odd lengths too: options begin at a multiple of four */
            w.length = (uint8_t)(3 + i);
            w.data_bytes = 3 + i;
            pcapng_packet(&file, 0, microseconds(1000000000), &w, &options);
            struct readout *r = readout_bytes(&file);
            readout_expect_sound(r, 1);
            cr_expect_eq((r->frames[0].flags & DBR_FRAME_SENT) != 0, (flags[i] & 3) == 2);
            readout_free(r);
            bytes_free(&file);
            bytes_free(&value);
            bytes_free(&options);
        }
}
