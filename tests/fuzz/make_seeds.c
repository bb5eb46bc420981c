/*
 * make_seeds.c - inputs to begin with that no file has as it is.
 *
 *     drawbar-make-seeds captures FOLDER              one of each kind of capture file
 *     drawbar-make-seeds pack RECORDING SKIP COUNT HEAD   frames of a recording, packed (packed.h)
 *     drawbar-make-seeds transfers RECORDING          those of messages in several frames
 *     drawbar-make-seeds pools FOLDER                 descriptions of implements
 *
 * What is packed goes to standard output.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/reading.h"
#include "fuzz/packed.h"
#include "support/capture.h"
#include "support/pool.h"

static int write_file(const char *folder, const char *name, const struct bytes *content)
{
    char path[4096];

    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    bool written = file && fwrite(content->data, 1, content->length, file) == content->length;
    if (!file || fclose(file) != 0 || !written) {
        perror(path);
        return 2;
    }
    return 0;
}

/* Packets that the readers tell apart. */
static const struct wire wires[] = {
    {.id = ID_EXTENDED | 0x18FEF100, .length = 8, .data = {1, 2, 3, 4, 5, 6, 7, 8}, .data_bytes = 8},
    {.id = 0x123, .length = 2, .data = {0xAA}, .data_bytes = 2, .sent = true},
    {.id = ID_REMOTE | 0x7FF, .length = 8},
    {.id = ID_ERROR | 0x88, .length = 8, .data = {0, 0, 2, 0x19}, .data_bytes = 8},
    {.id = ID_EXTENDED | 0x1FFFFFFF, .length = 8, .raw_dlc = 13, .data_bytes = 8},
    {.id = 0x100, .length = 12, .flags = 5, .protocol = PROTOCOL_FD, .data_bytes = 12},
    {.id = 0x100, .length = 64, .data_bytes = 64, .host_interface = 3},
    {.id = 0x100, .length = 0x80, .protocol = PROTOCOL_XL, .data_bytes = 8},
    {.protocol = PROTOCOL_IPV4, .data_bytes = 20},
};

#define WIRES (sizeof wires / sizeof wires[0])

static struct wire wire_of(size_t index, int link)
{
    struct wire wire = wires[index];

    wire.link = link;
    wire.protocol = wire.protocol ? wire.protocol : PROTOCOL_CAN;
    return wire;
}

static int make_capture(const char *folder, int link, uint32_t magic, bool big_endian)
{
    struct bytes file = {.big_endian = big_endian};
    char name[64];

    pcap_start(&file, magic, link);
    for (uint32_t i = 0; i < WIRES; i++) {
        struct wire wire = wire_of(i, link);
        pcap_packet(&file, 1717000000u + i, 1000u * i, &wire);
    }
    snprintf(name, sizeof name, "link-%d-%08X-%d", link, magic, big_endian);
    int status = write_file(folder, name, &file);
    bytes_free(&file);
    return status;
}

static int make_blocks(const char *folder, bool big_endian)
{
    static const int links[] = {LINK_CAN, LINK_COOKED_V1, LINK_COOKED_V2};
    struct bytes file = {.big_endian = big_endian}, options = {.big_endian = big_endian};

    pcapng_option(&options, 2, "\2\0\0\2", 4);
    pcapng_section(&file);
    for (uint32_t l = 0; l < 3; l++)
        pcapng_named(&file, links[l], "can0");
    for (uint32_t i = 0; i < WIRES * 3; i++) {
        struct wire wire = wire_of(i / 3, links[i % 3]);
        pcapng_packet(&file, i % 3, microseconds(1717000000) + i, &wire, i % 2 ? &options : NULL);
    }
    struct wire wire = wire_of(0, LINK_CAN);
    pcapng_simple(&file, &wire);
    pcapng_obsolete(&file, 0, microseconds(1717000001), &wire);
    int status = write_file(folder, big_endian ? "blocks-big" : "blocks-little", &file);
    bytes_free(&options);
    bytes_free(&file);
    return status;
}

static int make_captures(const char *folder)
{
    static const int links[] = {LINK_CAN, LINK_COOKED_V1, LINK_COOKED_V2, LINK_ETHERNET};
    static const uint32_t magics[] = {MAGIC_MICROSECONDS, MAGIC_NANOSECONDS};
    char path[4096];
    int status = 0;

    snprintf(path, sizeof path, "%s/capture", folder);
    for (unsigned i = 0; i < 16 && status == 0; i++)
        status = make_capture(path, links[i % 4], magics[i / 4 % 2], i >= 8);
    snprintf(path, sizeof path, "%s/pcapng", folder);
    for (unsigned i = 0; i < 2 && status == 0; i++)
        status = make_blocks(path, i > 0);
    return status;
}

static int make_pools(const char *folder)
{
    static const char *const labels[] = {NULL, "", "extended"};
    int status = 0;

    for (size_t i = 0; i < sizeof labels / sizeof labels[0] && status == 0; i++) {
        /* Two bytes before the description: see device.c. */
        struct bytes pool = {0};
        char name[32];
        bytes_repeat(&pool, 0, 2);
        pool_spreader(&pool, labels[i]);
        snprintf(name, sizeof name, "spreader-%zu", i);
        status = write_file(folder, name, &pool);
        bytes_free(&pool);
    }
    return status;
}

/* Groups of transfers (SAE J1939-21, ISO 11783-3), process data and claims. */
static bool is_of_transfers(const struct dbr_frame *frame)
{
    static const uint8_t formats[] = {0xEC, 0xEB, 0xC8, 0xC7, 0xCB, 0xEE};
    uint8_t format = (uint8_t)(frame->id >> 16);

    return memchr(formats, format, sizeof formats) != NULL;
}

/* `head` is the first byte of the head, the options of most targets. */
static int pack(const char *path, size_t skip, size_t count, uint8_t head, bool transfers)
{
    static struct dbr_batch batch = {.capacity = DBR_BATCH_FRAMES};
    uint8_t out[PACKED_FRAME] = {0};
    struct dbr_recording *recording;
    struct dbr_error error;
    int64_t before = 0;

    if (dbr_recording_open(&recording, &path, 1, NULL, &error) < 0) {
        fprintf(stderr, "%s\n", error.text);
        return 2;
    }
    out[0] = head;
    fwrite(out, 1, PACKED_HEAD, stdout);
    while (count > 0 && dbr_recording_next(recording, &batch, &error) > 0)
        for (size_t i = 0; i < batch.count && count > 0; i++) {
            const struct dbr_frame *frame = &batch.frames[i];
            if ((transfers && !is_of_transfers(frame)) || (skip > 0 && skip-- > 0))
                continue;
            packed_put(out, frame, frame->at_ns - before);
            before = frame->at_ns;
            fwrite(out, 1, PACKED_FRAME, stdout);
            count--;
        }
    dbr_recording_close(recording);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "captures") == 0)
        return make_captures(argv[2]);
    if (argc == 3 && strcmp(argv[1], "pools") == 0)
        return make_pools(argv[2]);
    if (argc == 3 && strcmp(argv[1], "transfers") == 0)
        return pack(argv[2], 0, 300, 0, true);
    if (argc == 6 && strcmp(argv[1], "pack") == 0)
        return pack(argv[2], strtoul(argv[3], NULL, 10), strtoul(argv[4], NULL, 10),
                    (uint8_t)strtoul(argv[5], NULL, 0), false);
    fprintf(stderr, "usage: see tests/fuzz/make_seeds.c\n");
    return 2;
}
