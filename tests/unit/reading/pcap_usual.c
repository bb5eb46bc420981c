/*
 * Usual packets of a capture are taken without libpcap: sound, damaged or cut, a file must give
 * what libpcap alone makes of it.
 */
#include <criterion/criterion.h>
#include <pcap/pcap.h>
#include <stdio.h>
#include <string.h>

#include "support/capture.h"
#include "support/readout.h"

#define FILE_HEADER 24u

/* What a bare loop sees. */
struct plain {
    bool opened;
    uint64_t packets;
    char reason[PCAP_ERRBUF_SIZE]; /* why it broke off; empty where it did not */
};

static struct plain read_plainly(const struct bytes *file)
{
    struct plain plain = {.reason = ""};
    struct pcap_pkthdr *header;
    const unsigned char *bytes;
    int result;
    FILE *stream = fmemopen(file->data, file->length, "rb");
    pcap_t *pcap =
        pcap_fopen_offline_with_tstamp_precision(stream, PCAP_TSTAMP_PRECISION_NANO, plain.reason);

    plain.opened = pcap != NULL;
    if (!pcap) {
        fclose(stream);
        return plain;
    }
    plain.reason[0] = '\0';
    while ((result = pcap_next_ex(pcap, &header, &bytes)) == 1)
        plain.packets++;
    if (result == PCAP_ERROR)
        snprintf(plain.reason, sizeof plain.reason, "%s", pcap_geterr(pcap));
    pcap_close(pcap);
    return plain;
}

static unsigned next_random(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

/* A few packets of any kind, in either byte order; every other file damaged, every third cut. */
static void build(struct bytes *file, unsigned *state)
{
    static const int links[] = {LINK_CAN, LINK_COOKED_V1, LINK_COOKED_V2};
    int link = links[next_random(state) % 3];
    bool nanoseconds = next_random(state) % 2;

    file->big_endian = next_random(state) % 2;
    pcap_start(file, nanoseconds ? MAGIC_NANOSECONDS : MAGIC_MICROSECONDS, link);
    for (unsigned left = 2 + next_random(state) % 5; left > 0; left--) {
        struct wire w = {.link = link, .protocol = PROTOCOL_CAN,
                         .id = ID_EXTENDED | next_random(state), .length = 8, .data_bytes = 8};
        if (next_random(state) % 8 == 0)
            w.data_bytes = next_random(state) % 64;
        pcap_packet(file, 1717000000, 0, &w);
    }
    for (unsigned left = next_random(state) % 2 * 2; left > 0; left--)
        file->data[4 + next_random(state) % (file->length - 4)] = (uint8_t)next_random(state);
    if (next_random(state) % 3 == 0)
        file->length = FILE_HEADER + next_random(state) % (file->length - FILE_HEADER);
}

Test(reading_pcap, usual_packets_are_read_as_libpcap_reads_them)
{
    unsigned state = 5, broken = 0, sound = 0;

    for (unsigned round = 0; round < 400; round++) {
        struct bytes file = {0};
        build(&file, &state);
        struct plain plain = read_plainly(&file);
        struct readout *r = readout_bytes(&file);
        cr_assert(plain.opened || !r->info, "round %u", round);
        if (r->info) {
            bool broke_off = plain.reason[0] != '\0';
            cr_assert_eq(r->file->records, plain.packets + broke_off, "round %u", round);
            cr_assert_eq(r->file->truncated, broke_off, "round %u: %s", round, plain.reason);
            /* the room for the reason ends before some of libpcap's */
            cr_assert(!broke_off || strstr(r->file->truncated_why, "cannot be read: "));
            const char *told = broke_off ? strstr(r->file->truncated_why, ": ") + 2 : "";
            cr_assert_eq(strncmp(plain.reason, told, strlen(told)), 0, "%s", told);
            broken += broke_off;
            sound += !broke_off;
        }
        readout_free(r);
        bytes_free(&file);
    }
    cr_assert(broken > 50 && sound > 50, "%u broken, %u sound", broken, sound);
}
