/* What a captured packet holds, alike in both kinds of capture file. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/capture.h"
#include "support/readout.h"

#define BYTES_1_TO_8 {1, 2, 3, 4, 5, 6, 7, 8}
#define EXT DBR_FRAME_EXTENDED

/* The same packet in a classic and a next-generation file. */
static void make_files(struct bytes files[2], bool big_endian, const struct wire *w)
{
    for (int i = 0; i < 2; i++)
        files[i] = (struct bytes){.big_endian = big_endian};
    pcap_start(&files[0], MAGIC_MICROSECONDS, w->link);
    pcap_packet(&files[0], 1000000000, 0, w);
    pcapng_section(&files[1]);
    pcapng_named(&files[1], w->link, "can0");
    pcapng_packet(&files[1], 0, UINT64_C(1000000000000000), w, NULL);
}

static const struct {
    struct wire w;
    uint32_t id;
    int flags;
    uint8_t length, raw_dlc;
} sound[] = {
    {{.id = ID_EXTENDED | 0x18FEF100, .length = 8, .data = BYTES_1_TO_8, .data_bytes = 8},
     0x18FEF100, EXT, 8, 0},
    {{.id = 0x7FF, .length = 2, .data = {1, 2}, .data_bytes = 2}, 0x7FF, 0, 2, 0},
    {{.id = 0x123}, 0x123, 0, 0, 0},
    {{.id = ID_EXTENDED | 0x123, .length = 1, .data = {1}, .data_bytes = 1}, 0x123, EXT, 1, 0},
    /* A classical record may be padded to its full 16 bytes: the length byte counts. */
    {{.id = 0x123, .length = 3, .data = {1, 2, 3}, .data_bytes = 8}, 0x123, 0, 3, 0},
    {{.id = 0x123, .length = 0, .data = {0}, .data_bytes = 64}, 0x123, 0, 0, 0},
    {{.id = 0x123, .length = 8, .raw_dlc = 12, .data = BYTES_1_TO_8, .data_bytes = 8}, 0x123, 0, 8, 12},
    /* A length code only counts with 8 bytes, and from 9 to 15. */
    {{.id = 0x123, .length = 2, .raw_dlc = 12, .data = {1, 2}, .data_bytes = 2}, 0x123, 0, 2, 0},
    {{.id = 0x123, .length = 8, .raw_dlc = 16, .data = BYTES_1_TO_8, .data_bytes = 8}, 0x123, 0, 8, 0},
    {{.id = ID_REMOTE | 0x123, .length = 4}, 0x123, DBR_FRAME_REMOTE, 4, 0},
    {{.id = ID_REMOTE | ID_EXTENDED | 0x18EAFFFE, .length = 3, .data_bytes = 8}, 0x18EAFFFE,
     EXT | DBR_FRAME_REMOTE, 3, 0},
    {{.id = ID_ERROR | 0x88, .length = 8, .data = BYTES_1_TO_8, .data_bytes = 8}, 0x88,
     DBR_FRAME_ERROR, 8, 0},
    {{.protocol = PROTOCOL_FD, .id = 0x123, .length = 12, .flags = 4 | 1, .data = BYTES_1_TO_8,
      .data_bytes = 12}, 0x123, DBR_FRAME_FD | DBR_FRAME_BRS, 12, 0},
    {{.protocol = PROTOCOL_FD, .id = ID_EXTENDED | 0x18FEF100, .length = 64, .flags = 4 | 2,
      .data = BYTES_1_TO_8, .data_bytes = 64}, 0x18FEF100,
     EXT | DBR_FRAME_FD | DBR_FRAME_ESI, 64, 0},
    {{.protocol = PROTOCOL_FD, .id = 0x123, .length = 3, .flags = 4, .data = {1, 2, 3},
      .data_bytes = 64}, 0x123, DBR_FRAME_FD, 3, 0},
    /* Rubbish where FD has its flags says nothing: that byte was padding once. */
    {{.id = 0x123, .length = 8, .flags = 0x7F, .data = BYTES_1_TO_8, .data_bytes = 8}, 0x123, 0, 8, 0},
    {{.protocol = PROTOCOL_FD, .id = 0x123, .length = 12, .flags = 0xFF, .data = BYTES_1_TO_8,
      .data_bytes = 12}, 0x123, DBR_FRAME_FD, 12, 0},
    /* Older captures lack the FD flag: the length tells. */
    {{.protocol = PROTOCOL_FD, .id = 0x123, .length = 16, .data = BYTES_1_TO_8, .data_bytes = 16},
     0x123, DBR_FRAME_FD, 16, 0},
};

static const int links[] = {LINK_CAN, LINK_COOKED_V1, LINK_COOKED_V2};

static void expect_packet(struct wire w, bool big_endian, size_t row)
{
    struct bytes files[2];

    make_files(files, big_endian, &w);
    for (int i = 0; i < 2; i++) {
        struct readout *r = readout_bytes(&files[i]);
        cr_assert_eq(r->result, 0, "row %zu, link %d: %s", row, w.link, r->error.text);
        readout_expect_sound(r, 1);
        const struct dbr_frame *f = &r->frames[0];
        cr_expect_eq(f->id, sound[row].id, "row %zu, link %d, %s: id %X", row, w.link,
                     big_endian ? "big" : "little", f->id);
        cr_expect_eq(f->flags, sound[row].flags, "row %zu, link %d: flags %X", row, w.link, f->flags);
        cr_expect_eq(f->length, sound[row].length, "row %zu", row);
        cr_expect_eq(f->raw_dlc, sound[row].raw_dlc, "row %zu", row);
        if (!(f->flags & DBR_FRAME_REMOTE))
            cr_expect_arr_eq(f->data, w.data, f->length, "row %zu", row);
        cr_expect_str_eq(r->file->format, i == 0 ? "pcap" : "pcapng");
        cr_expect_not(r->file->by_line);
        readout_free(r);
        bytes_free(&files[i]);
    }
}

Test(reading_packets, every_kind_of_frame_on_every_link_and_host)
{
    for (size_t row = 0; row < sizeof sound / sizeof sound[0]; row++)
        for (size_t link = 0; link < 3; link++)
            for (int big_endian = 0; big_endian < 2; big_endian++) {
                struct wire w = sound[row].w;
                w.link = links[link];
                w.protocol = w.protocol ? w.protocol : PROTOCOL_CAN;
                expect_packet(w, big_endian, row);
            }
}

/* Link type 227 has no protocol: a flag says that a frame is FD, whatever its length. */
Test(reading_packets, the_fd_flag_of_link_type_227)
{
    static const struct {
        uint8_t flags;
        int expected;
    } rows[] = {{0, 0},
                {1, 0}, /* a classical frame has no bit-rate switch */
                {4, DBR_FRAME_FD},
                {4 | 1, DBR_FRAME_FD | DBR_FRAME_BRS},
                {4 | 2, DBR_FRAME_FD | DBR_FRAME_ESI},
                {8 | 4, 0}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bytes file = {0};
        const struct wire w = {.link = LINK_CAN, .id = 0x123, .length = 2, .flags = rows[i].flags,
                               .data = {1, 2}, .data_bytes = 2};
        pcap_start(&file, MAGIC_MICROSECONDS, LINK_CAN);
        pcap_packet(&file, 1, 0, &w);
        struct readout *r = readout_bytes(&file);
        readout_expect_sound(r, 1);
        cr_expect_eq(r->frames[0].flags, rows[i].expected, "flags %X", rows[i].flags);
        readout_free(r);
        bytes_free(&file);
    }
}

static const struct {
    struct wire w;
    enum dbr_rejection why;
} unsound[] = {
    {{.link = LINK_CAN, .id = 0x800}, DBR_REJECTION_ID_RANGE},
    {{.link = LINK_COOKED_V1, .protocol = PROTOCOL_CAN, .id = 0x1FFFFFFF}, DBR_REJECTION_ID_RANGE},
    {{.link = LINK_CAN, .id = 0x123, .length = 9, .data_bytes = 9}, DBR_REJECTION_FD_LENGTH},
    {{.link = LINK_CAN, .id = 0x123, .length = 65, .data_bytes = 64}, DBR_REJECTION_FD_LENGTH},
    {{.link = LINK_CAN, .id = 0x123, .length = 4, .data_bytes = 3}, DBR_REJECTION_PACKET_SHORT},
    {{.link = LINK_CAN, .id = 0x123, .length = 12, .data_bytes = 8}, DBR_REJECTION_PACKET_SHORT},
    {{.link = LINK_CAN, .id = 0x123, .length = 0x80 | 12, .data_bytes = 64}, DBR_REJECTION_CAN_XL},
    {{.link = LINK_COOKED_V1, .protocol = PROTOCOL_XL, .data_bytes = 20}, DBR_REJECTION_CAN_XL},
    {{.link = LINK_COOKED_V2, .protocol = PROTOCOL_XL, .data_bytes = 20}, DBR_REJECTION_CAN_XL},
    {{.link = LINK_COOKED_V1, .protocol = PROTOCOL_IPV4, .data_bytes = 20}, DBR_REJECTION_NOT_CAN},
    {{.link = LINK_COOKED_V2, .protocol = PROTOCOL_IPV4, .data_bytes = 20}, DBR_REJECTION_NOT_CAN},
    {{.link = LINK_ETHERNET, .data_bytes = 20}, DBR_REJECTION_LINK_TYPE},
};

Test(reading_packets, what_holds_no_frame_is_rejected_with_its_reason)
{
    struct bytes files[2];

    for (size_t row = 0; row < sizeof unsound / sizeof unsound[0]; row++)
        for (int big_endian = 0; big_endian < 2; big_endian++) {
            make_files(files, big_endian, &unsound[row].w);
            for (int i = 0; i < 2; i++) {
                struct readout *r = readout_bytes(&files[i]);
                cr_assert_eq(r->result, -1, "row %zu", row);
                cr_expect_eq(r->error.code, DBR_ERROR_FORMAT);
                cr_expect_not_null(strstr(r->error.text, "packet 1"), "%s", r->error.text);
                cr_expect_not_null(strstr(r->error.text, dbr_rejection_words(unsound[row].why)),
                                   "row %zu: %s", row, r->error.text);
                cr_expect_eq(r->file->rejections[unsound[row].why].count, 1, "row %zu", row);
                readout_free(r);
                bytes_free(&files[i]);
            }
        }
}

/* Captured bytes that end anywhere inside the headers. */
Test(reading_packets, a_packet_shorter_than_its_headers_is_rejected)
{
    static const size_t header[] = {8, 16 + 8, 20 + 8};

    for (size_t link = 0; link < 3; link++)
        for (size_t length = 0; length < header[link] + 2; length++) {
            struct bytes file = {0}, packet = {0};
            const struct wire w = {.link = links[link], .protocol = PROTOCOL_CAN, .id = 0x123,
                                   .length = 2, .data_bytes = 2};
            pcap_start(&file, MAGIC_MICROSECONDS, links[link]);
            pcap_packet(&file, 1000000000, 0, &w);
            wire_add(&packet, &w);
            bytes_integer(&file, 1000000001, 4);
            bytes_integer(&file, 0, 4);
            bytes_integer(&file, length, 4);
            bytes_integer(&file, packet.length, 4);
            bytes_add(&file, packet.data, length);
            pcap_packet(&file, 1000000002, 0, &w);
            struct readout *r = readout_bytes(&file);
            cr_expect_eq(r->file->frames, 2, "link %d, %zu bytes", links[link], length);
            readout_expect_rejected(r, DBR_REJECTION_PACKET_SHORT, 1, 2);
            cr_expect_not(r->file->truncated);
            readout_free(r);
            bytes_free(&file);
            bytes_free(&packet);
        }
}

/* Cooked v2 tells the host's interface of each packet; v1 and 227 tell nothing in a classic file. */
Test(reading_packets, interfaces_of_a_classic_capture)
{
    for (size_t link = 0; link < 3; link++) {
        struct bytes file = {0};
        struct wire w = {.link = links[link], .protocol = PROTOCOL_CAN, .id = 0x123};
        bool v2 = links[link] == LINK_COOKED_V2;
        pcap_start(&file, MAGIC_MICROSECONDS, links[link]);
        for (unsigned i = 0; i < 4; i++) {
            w.host_interface = 3 + i % 2;
            pcap_packet(&file, 1000000000 + i, 0, &w);
        }
        struct readout *r = readout_bytes(&file);
        readout_expect_sound(r, 4);
        cr_expect_eq(r->info->interface_count, v2 ? 2 : 1);
        cr_expect_str_eq(r->info->interfaces[r->frames[3].interface], v2 ? "index 4" : "unnamed");
        readout_free(r);
        bytes_free(&file);
    }
}

Test(reading_packets, more_interfaces_than_can_be_told_apart)
{
    struct bytes file = {0};
    struct wire w = {.link = LINK_COOKED_V2, .protocol = PROTOCOL_CAN, .id = 0x123};

    pcap_start(&file, MAGIC_MICROSECONDS, LINK_COOKED_V2);
    for (unsigned i = 0; i < 70; i++) {
        w.host_interface = i;
        pcap_packet(&file, 1000000000 + i, 0, &w);
    }
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->file->frames, DBR_INTERFACES_MAX);
    readout_expect_rejected(r, DBR_REJECTION_INTERFACES, 70 - DBR_INTERFACES_MAX,
                            DBR_INTERFACES_MAX + 1);
    readout_free(r);
    bytes_free(&file);
}

static void add_sent_and_heard(struct bytes *file, bool sent, uint32_t milliseconds, uint8_t byte)
{
    const struct wire w = {.link = LINK_COOKED_V1, .protocol = PROTOCOL_CAN, .sent = sent,
                           .id = 0x123, .length = 1, .data = {byte}, .data_bytes = 1};
    pcap_packet(file, 1000000000 + milliseconds / 1000, milliseconds % 1000 * 1000, &w);
}

/* Which of the frames are copies: a letter each, c for a copy. */
static void expect_copies(const struct bytes *file, const char *pattern)
{
    struct readout *r = readout_bytes(file);
    uint64_t copies = 0;

    readout_expect_sound(r, strlen(pattern));
    for (size_t i = 0; i < r->count; i++) {
        bool copy = (r->frames[i].flags & DBR_FRAME_COPY) != 0;
        cr_assert_eq(copy, pattern[i] == 'c', "frame %zu of %s", i, pattern);
        copies += copy;
    }
    cr_assert_eq(r->info->copies, copies);
    readout_free(r);
}

Test(reading_packets, a_frame_sent_and_heard_again_is_one_on_the_bus)
{
    struct bytes file = {0};

    pcap_start(&file, MAGIC_MICROSECONDS, LINK_COOKED_V1);
    add_sent_and_heard(&file, true, 0, 0xAA);
    add_sent_and_heard(&file, false, 1, 0xAA); /* its copy */
    add_sent_and_heard(&file, false, 2, 0xAA); /* another node's: the pair is complete */
    add_sent_and_heard(&file, true, 10, 0xBB);
    add_sent_and_heard(&file, true, 11, 0xCC);
    add_sent_and_heard(&file, false, 12, 0xCC);
    add_sent_and_heard(&file, false, 13, 0xBB);
    add_sent_and_heard(&file, true, 20, 0xDD);
    add_sent_and_heard(&file, true, 21, 0xDD); /* sent twice, heard twice */
    add_sent_and_heard(&file, false, 22, 0xDD);
    add_sent_and_heard(&file, false, 23, 0xDD);
    add_sent_and_heard(&file, true, 30, 0xEE);
    add_sent_and_heard(&file, false, 1031, 0xEE); /* more than a second later: not a copy */
    expect_copies(&file, "-c---cc--cc--");
    bytes_free(&file);
}

Test(reading_packets, frames_that_only_look_alike_are_no_copies)
{
    struct bytes text = {0};

    bytes_text(&text, "(1.000) can0 123#AA T\n(1.001) can0 123#AB\n(1.002) can0 124#AA\n"
                      "(1.003) can1 123#AA\n(1.004) can0 123#AA00\n(1.005) can0 00000123#AA\n"
                      "(1.006) can0 123#R1\n(1.007) can0 123#AA T\n(1.008) can0 123#AA R\n");
    expect_copies(&text, "--------c");
    bytes_free(&text);
}

Test(reading_packets, a_recorder_that_never_sends_has_no_copies)
{
    struct bytes text = {0};

    bytes_text(&text, "(1.000) can0 123#AA\n(1.001) can0 123#AA R\n(1.002) can0 123#AA\n");
    expect_copies(&text, "---");
    bytes_free(&text);
}
