/* Next-generation capture files that are cut, damaged, or lie about lengths. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/capture.h"
#include "support/readout.h"

/* Options whose length runs beyond their block, before or after one that counts. */
Test(reading_pcapng, options_that_lie_do_no_harm)
{
    static const uint8_t lying[] = {2, 0, 0xFF, 0xFF, 1, 2};
    struct bytes file = {0}, options = {0};

    pcapng_option(&options, 2, "can7", 4);
    bytes_add(&options, lying, sizeof lying);
    pcapng_section(&file);
    pcapng_interface(&file, LINK_CAN, &options);
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, &options);
    struct readout *r = readout_bytes(&file);
    readout_expect_sound(r, 1);
    cr_expect_str_eq(r->info->interfaces[0], "can7");
    readout_free(r);
    bytes_free(&file);
    bytes_free(&options);
}

/* Cut at every byte: whole packets come out, and the cut is told. */
Test(reading_pcapng, a_cut_at_any_place)
{
    struct bytes file = pcapng_start(false);
    const size_t header = file.length, packet = 12 + 20 + 16;

    for (unsigned i = 0; i < 3; i++)
        pcapng_packet(&file, 0, microseconds(1000000000 + i), &pcapng_wire, NULL);
    const size_t length = file.length;
    cr_assert_eq(length, header + 3 * packet);
    for (file.length = 4; file.length < length; file.length++) {
        size_t whole = file.length < header ? 0 : (file.length - header) / packet;
        bool cut = file.length > header && (file.length - header) % packet != 0;
        struct readout *r = readout_bytes(&file);
        cr_assert_eq(r->result, whole > 0 ? 0 : -1, "%zu bytes: %s", file.length, r->error.text);
        cr_assert_eq(r->count, whole);
        if (whole > 0) {
            cr_assert_eq(r->file->truncated, cut);
            cr_assert_leq(r->file->rejected, cut);
        }
        readout_free(r);
    }
    bytes_free(&file);
}

Test(reading_pcapng, a_damaged_block_ends_the_file_there)
{
    static const struct {
        size_t from_end; /* of the byte that is spoilt */
        const char *why;
    } rows[] = {
        {1, "the two lengths of a block differ"},
        {4, "the two lengths of a block differ"},
        {48 - 4, "a block has an impossible length"}, /* 48 becomes 49 */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bytes file = pcapng_start(false);
        pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
        pcapng_packet(&file, 0, microseconds(1000000001), &pcapng_wire, NULL);
        file.data[file.length - rows[i].from_end] ^= 1;
        pcapng_packet(&file, 0, microseconds(1000000002), &pcapng_wire, NULL);
        /* The spoilt byte is counted from the end of the second packet. */
        struct readout *r = readout_bytes(&file);
        cr_expect_eq(r->count, 1, "row %zu", i);
        cr_expect(r->file->truncated, "row %zu", i);
        cr_expect_not_null(strstr(r->file->truncated_why, rows[i].why), "row %zu: %s", i,
                           r->file->truncated_why);
        cr_expect_not_null(strstr(r->file->truncated_why, "packet "), "row %zu", i);
        readout_free(r);
        bytes_free(&file);
    }
}

/* A packet block that claims more than the window is no frame, and what follows it is found. */
Test(reading_pcapng, a_packet_of_huge_size_is_one_rejection)
{
    struct bytes file = pcapng_start(false), body = {0};

    bytes_repeat(&body, 0, 2 * DBR_STREAM_WINDOW);
    pcapng_block(&file, 6, &body);
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->count, 1);
    readout_expect_rejected(r, DBR_REJECTION_PACKET_SHORT, 1, 1);
    cr_expect_not(r->file->truncated);
    readout_free(r);
    bytes_free(&file);
    bytes_free(&body);
}

/* What a packet claims to have captured may not reach beyond its block. */
Test(reading_pcapng, a_captured_length_that_lies_is_rejected)
{
    struct bytes file = pcapng_start(false), body = {0};

    bytes_integer(&body, 0, 4);
    bytes_integer(&body, 0, 4);
    bytes_integer(&body, 1000000, 4);
    bytes_integer(&body, 0xFFFFFFFFu, 4);
    bytes_integer(&body, 16, 4);
    bytes_repeat(&body, 0, 16);
    pcapng_block(&file, 6, &body);
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->count, 1);
    readout_expect_rejected(r, DBR_REJECTION_PACKET_SHORT, 1, 1);
    readout_free(r);
    bytes_free(&file);
    bytes_free(&body);
}
