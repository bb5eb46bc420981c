/*
 * Capture files, byte by byte. Layouts: the classic format's file header and packet
 * header, IETF draft-ietf-opsawg-pcapng, link type registry (227, 113, 276).
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/temporary.h"

static uint8_t bytes[65536];
static size_t used;
static bool big; /* byte order of what is being written */

static void put(uint64_t value, unsigned width)
{
    for (unsigned i = 0; i < width; i++)
        bytes[used++] = (uint8_t)(value >> 8 * (big ? width - 1 - i : i));
}

static void put_bytes(const void *content, size_t count)
{
    memcpy(bytes + used, content, count);
    used += count;
}

static void begin(bool big_endian)
{
    used = 0;
    big = big_endian;
}

/* Classic file header: magic, version 2.4, zone, accuracy, snapshot length, link type. */
static void pcap_head(uint32_t magic, uint32_t link_type)
{
    put(magic, 4);
    put(2, 2);
    put(4, 2);
    put(0, 4);
    put(0, 4);
    put(65535, 4);
    put(link_type, 4);
}

static void pcap_packet(uint32_t s, uint32_t fraction, const void *packet, uint32_t length)
{
    put(s, 4);
    put(fraction, 4);
    put(length, 4);
    put(length, 4);
    put_bytes(packet, length);
}

/* SocketCAN record with a big-endian identifier. */
static const uint8_t socketcan[] = {0x98, 0xFE, 0xF1, 0x00, 8, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8};

static void assert_the_frame(const struct readout *r, size_t index)
{
    const struct dbr_frame *f = &r->frames[index];

    cr_assert_eq(r->result, 0, "%s", r->error.text);
    cr_assert(r->count > index);
    cr_assert_eq(f->id, 0x18FEF100, "%X", f->id);
    cr_assert_eq(f->flags & ~DBR_FRAME_SENT, DBR_FRAME_EXTENDED);
    cr_assert_eq(f->length, 8);
    cr_assert_eq(memcmp(f->data, "\1\2\3\4\5\6\7\10", 8), 0);
}

Test(reading_captures, classic_files_of_both_byte_orders_and_resolutions)
{
    static const struct {
        bool big;
        uint32_t magic, fraction;
        int64_t expected_ns;
    } rows[] = {{false, 0xA1B2C3D4, 500000, 1500000000},
                {true, 0xA1B2C3D4, 500000, 1500000000},
                {false, 0xA1B23C4D, 500000001, 1500000001},
                {true, 0xA1B23C4D, 500000001, 1500000001}};

    for (size_t i = 0; i < 4; i++) {
        begin(rows[i].big);
        pcap_head(rows[i].magic, 227);
        pcap_packet(1000000000, 0, socketcan, sizeof socketcan);
        pcap_packet(1000000001, rows[i].fraction, socketcan, sizeof socketcan);
        const struct readout *r = read_content(bytes, used);
        assert_the_frame(r, 1);
        cr_assert_eq(r->frames[1].at_ns, rows[i].expected_ns, "row %zu", i);
        cr_assert_eq(r->info.start_ns, INT64_C(1000000000) * 1000000000);
        cr_assert_str_eq(r->files[0].format, "pcap");
    }
}

/* A cooked header, then a record whose identifier has the byte order of the host. */
static size_t cooked(uint8_t *out, unsigned version, unsigned type, unsigned protocol)
{
    const uint8_t v1[16] = {0, (uint8_t)type, 1, 24, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
                            (uint8_t)(protocol >> 8), (uint8_t)protocol};
    const uint8_t v2[20] = {(uint8_t)(protocol >> 8), (uint8_t)protocol, 0, 0, 0, 0, 0, 3, 1, 24,
                            (uint8_t)type, 0};
    size_t head = version == 1 ? sizeof v1 : sizeof v2;

    memcpy(out, version == 1 ? v1 : v2, head);
    for (unsigned i = 0; i < 4; i++)
        out[head + i] = socketcan[big ? i : 3 - i];
    memcpy(out + head + 4, socketcan + 4, 12);
    return head + 16;
}

Test(reading_captures, cooked_packets_of_either_host)
{
    uint8_t packet[64];

    for (unsigned version = 1; version <= 2; version++)
        for (int host = 0; host < 2; host++) {
            begin(host);
            size_t length = cooked(packet, version, 1, 0x000C);
            pcap_head(0xA1B2C3D4, version == 1 ? 113 : 276);
            pcap_packet(1000000000, 0, packet, (uint32_t)length);
            const struct readout *r = read_content(bytes, used);
            assert_the_frame(r, 0);
            cr_assert_str_eq(r->interfaces[0], version == 1 ? "unnamed" : "index 3");
        }
}

Test(reading_captures, packets_that_the_recorder_sent)
{
    uint8_t packet[64];

    begin(false);
    size_t length = cooked(packet, 1, 4, 0x000C);
    pcap_head(0xA1B2C3D4, 113);
    pcap_packet(1000000000, 0, packet, (uint32_t)length);
    length = cooked(packet, 1, 1, 0x000C);
    pcap_packet(1000000000, 700, packet, (uint32_t)length);
    const struct readout *r = read_content(bytes, used);

    cr_assert(r->frames[0].flags & DBR_FRAME_SENT);
    cr_assert(r->frames[1].flags & DBR_FRAME_COPY);
    cr_assert_eq(r->info.copies, 1);
}

Test(reading_captures, every_kind_of_record)
{
    static const struct {
        uint8_t packet[32];
        uint32_t length;
        uint32_t id;
        unsigned flags, data_length;
    } rows[] = {
        {{0, 0, 1, 0x23, 2, 0, 0, 0, 9, 8}, 10, 0x123, 0, 2},
        {{0x40, 0, 1, 0x23, 4, 0, 0, 0}, 8, 0x123, DBR_FRAME_REMOTE, 4},
        {{0x20, 0, 0, 0x40, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}, 16, 0x40, DBR_FRAME_ERROR, 8},
        {{0, 0, 1, 0x23, 2, 5, 0, 0, 9, 8}, 10, 0x123, DBR_FRAME_FD | DBR_FRAME_BRS, 2},
        /* FD without its flag: the length tells */
        {{0, 0, 1, 0x23, 12, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}, 20, 0x123,
         DBR_FRAME_FD, 12},
        /* a classical record padded to 16 bytes */
        {{0, 0, 1, 0x23, 1, 0, 0, 0, 9, 0, 0, 0, 0, 0, 0, 0}, 16, 0x123, 0, 1},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        begin(false);
        pcap_head(0xA1B2C3D4, 227);
        pcap_packet(1, 0, rows[i].packet, rows[i].length);
        const struct readout *r = read_content(bytes, used);
        cr_assert_eq(r->count, 1, "row %zu: %s", i, r->error.text);
        cr_assert_eq(r->frames[0].id, rows[i].id, "row %zu", i);
        cr_assert_eq(r->frames[0].flags, rows[i].flags, "row %zu: %X", i, r->frames[0].flags);
        cr_assert_eq(r->frames[0].length, rows[i].data_length, "row %zu", i);
    }
}

Test(reading_captures, packets_that_hold_no_frame)
{
    static const struct {
        uint32_t link_type;
        uint8_t packet[32];
        uint32_t length;
        enum dbr_rejection why;
    } rows[] = {
        {227, {0, 0, 1}, 3, DBR_REJECTION_PACKET_SHORT},
        {227, {0, 0, 1, 0x23, 4, 0, 0, 0, 1, 2}, 10, DBR_REJECTION_PACKET_SHORT},
        {227, {0, 0, 8, 0, 0, 0, 0, 0}, 8, DBR_REJECTION_ID_RANGE},
        {227, {0, 0, 1, 0x23, 0x80, 0, 0, 0}, 8, DBR_REJECTION_CAN_XL},
        {227, {0, 0, 1, 0x23, 9, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, 17,
         DBR_REJECTION_FD_LENGTH},
        {113, {0, 0, 0, 1, 0, 6, 0, 0, 0, 0, 0, 0, 0, 0, 8, 0, 0x45}, 17, DBR_REJECTION_NOT_CAN},
        {1, {1, 2, 3, 4, 5, 6}, 6, DBR_REJECTION_LINK_TYPE},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        begin(false);
        pcap_head(0xA1B2C3D4, rows[i].link_type);
        pcap_packet(1, 0, rows[i].packet, rows[i].length);
        char *path = temporary_file(bytes, used);
        const struct readout *r = read_files((const char *[]){path}, 1, NULL, 1);
        cr_assert_eq(r->result, -1, "row %zu", i);
        cr_assert_eq(r->files[0].rejections[rows[i].why].first_at, 1, "row %zu", i);
        cr_assert(strstr(r->error.text, "packet 1"), "row %zu: %s", i, r->error.text);
        temporary_remove(path);
    }
}

Test(reading_captures, a_cut_classic_file_keeps_its_whole_packets)
{
    begin(false);
    pcap_head(0xA1B2C3D4, 227);
    pcap_packet(1, 0, socketcan, sizeof socketcan);
    pcap_packet(2, 0, socketcan, sizeof socketcan);
    const struct readout *r = read_content(bytes, used - 3);

    cr_assert_eq(r->count, 1);
    cr_assert(r->files[0].truncated);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_PACKET_CUT].first_at, 2);
}

/* pcapng blocks: type, length, body, length. */
static size_t block_begin(uint32_t type)
{
    size_t at = used;
    put(type, 4);
    put(0, 4);
    return at;
}

static void block_end(size_t at)
{
    while (used % 4)
        bytes[used++] = 0;
    size_t end = used + 4;
    used = at + 4;
    put(end - at, 4);
    used = end - 4;
    put(end - at, 4);
}

static void section(bool big_endian)
{
    big = big_endian;
    size_t at = block_begin(0x0A0D0D0A);
    put(0x1A2B3C4D, 4);
    put(1, 2);
    put(0, 2);
    put(UINT64_MAX, 8);
    block_end(at);
}

static void option(unsigned code, const void *value, unsigned length)
{
    put(code, 2);
    put(length, 2);
    put_bytes(value, length);
    while (used % 4)
        bytes[used++] = 0;
}

static void interface(unsigned link_type, const char *name, int resolution, int64_t offset)
{
    size_t at = block_begin(1);
    put(link_type, 2);
    put(0, 2);
    put(0, 4);
    if (name)
        option(2, name, (unsigned)strlen(name));
    if (resolution >= 0) {
        uint8_t byte = (uint8_t)resolution;
        option(9, &byte, 1);
    }
    if (offset) {
        put(14, 2);
        put(8, 2);
        put((uint64_t)offset, 8);
    }
    put(0, 4);
    block_end(at);
}

static void enhanced(uint32_t interface_id, uint64_t stamp, const void *packet, uint32_t length,
                     int direction)
{
    size_t at = block_begin(6);
    put(interface_id, 4);
    put(stamp >> 32, 4);
    put(stamp & 0xFFFFFFFF, 4);
    put(length, 4);
    put(length, 4);
    put_bytes(packet, length);
    while (used % 4)
        bytes[used++] = 0;
    if (direction > 0) {
        put(2, 2);
        put(4, 2);
        put((uint64_t)direction, 4);
        put(0, 4);
    }
    block_end(at);
}

Test(reading_captures, next_generation_files_of_both_byte_orders)
{
    for (int order = 0; order < 2; order++) {
        used = 0;
        section(order);
        interface(227, "can0", -1, 0);
        enhanced(0, UINT64_C(1717000000000000), socketcan, sizeof socketcan, 0);
        enhanced(0, UINT64_C(1717000001500000), socketcan, sizeof socketcan, 2);
        const struct readout *r = read_content(bytes, used);
        assert_the_frame(r, 1);
        cr_assert_eq(r->frames[1].at_ns, 1500000000);
        cr_assert(r->frames[1].flags & DBR_FRAME_SENT);
        cr_assert_eq(r->info.start_ns, INT64_C(1717000000000000000));
        cr_assert_str_eq(r->interfaces[0], "can0");
        cr_assert_str_eq(r->files[0].format, "pcapng");
    }
}

Test(reading_captures, resolutions_and_offsets_of_stamps)
{
    static const struct {
        int resolution;
        int64_t offset;
        uint64_t stamp;
        int64_t expected_ns;
    } rows[] = {
        {-1, 0, UINT64_C(1000000001500000), INT64_C(1000000001500000000)},
        {9, 0, UINT64_C(1000000001500000007), INT64_C(1000000001500000007)},
        {3, 0, UINT64_C(1000000001500), INT64_C(1000000001500000000)},
        {0, 0, 1000000001, INT64_C(1000000001000000000)},
        {0x80 | 10, 0, UINT64_C(1000000001) * 1024 + 512, INT64_C(1000000001500000000)},
        {6, 1000000000, 1500000, INT64_C(1000000001500000000)},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        used = 0;
        section(false);
        interface(227, "can0", rows[i].resolution, rows[i].offset);
        enhanced(0, rows[i].stamp, socketcan, sizeof socketcan, 0);
        const struct readout *r = read_content(bytes, used);
        cr_assert_eq(r->info.start_ns, rows[i].expected_ns, "row %zu: %lld", i,
                     (long long)r->info.start_ns);
    }
}

Test(reading_captures, two_interfaces_of_different_link_types)
{
    uint8_t packet[64];

    used = 0;
    section(false);
    interface(227, "can0", -1, 0);
    interface(113, "can1", -1, 0);
    interface(1, "eth0", -1, 0);
    enhanced(0, 1000000000000000, socketcan, sizeof socketcan, 0);
    size_t length = cooked(packet, 1, 1, 0x000C);
    enhanced(1, 1000000000000100, packet, (uint32_t)length, 0);
    enhanced(2, 1000000000000200, socketcan, sizeof socketcan, 0);
    enhanced(7, 1000000000000300, socketcan, sizeof socketcan, 0);
    const struct readout *r = read_content(bytes, used);

    cr_assert_eq(r->count, 2);
    assert_the_frame(r, 0);
    assert_the_frame(r, 1);
    cr_assert_str_eq(r->interfaces[r->frames[0].interface], "can0");
    cr_assert_str_eq(r->interfaces[r->frames[1].interface], "can1");
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_LINK_TYPE].first_at, 3);
    cr_assert_eq(r->files[0].rejections[DBR_REJECTION_NO_INTERFACE].first_at, 4);
}

Test(reading_captures, other_blocks_are_passed_over_and_old_packets_read)
{
    used = 0;
    section(false);
    interface(227, "can0", -1, 0);
    size_t at = block_begin(0x0BAD); /* custom or unknown, of any size */
    used += 40000;
    block_end(at);
    at = block_begin(2); /* obsolete packet block */
    put(0, 2);
    put(0, 2);
    put(1000000000000000 >> 32, 4);
    put(1000000000000000 & 0xFFFFFFFF, 4);
    put(sizeof socketcan, 4);
    put(sizeof socketcan, 4);
    put_bytes(socketcan, sizeof socketcan);
    block_end(at);
    at = block_begin(3); /* simple packet block: no stamp of its own */
    put(sizeof socketcan, 4);
    put_bytes(socketcan, sizeof socketcan);
    block_end(at);
    section(true); /* a second section forgets the interfaces */
    interface(227, "can9", -1, 0);
    enhanced(0, 1000000000500000, socketcan, sizeof socketcan, 0);
    const struct readout *r = read_content(bytes, used);

    cr_assert_eq(r->count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_the_frame(r, i);
    cr_assert_eq(r->frames[1].at_ns, 0);
    cr_assert_eq(r->frames[2].at_ns, 500000000);
    cr_assert_str_eq(r->interfaces[1], "can9");
}

Test(reading_captures, a_damaged_block_ends_the_file_there)
{
    static const struct {
        int cut;        /* bytes off the end */
        int flip;       /* offset from the end of a byte to spoil; 0: none */
    } rows[] = {{3, 0}, {20, 0}, {0, 1}, {0, 41}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        used = 0;
        section(false);
        interface(227, "can0", -1, 0);
        enhanced(0, 1000000000000000, socketcan, sizeof socketcan, 0);
        enhanced(0, 1000000000000100, socketcan, sizeof socketcan, 0);
        if (rows[i].flip)
            bytes[used - (size_t)rows[i].flip] ^= 0x55;
        const struct readout *r = read_content(bytes, used - (size_t)rows[i].cut);
        cr_assert_eq(r->count, 1, "row %zu", i);
        cr_assert(r->files[0].truncated, "row %zu", i);
    }
}
