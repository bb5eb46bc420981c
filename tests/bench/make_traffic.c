/*
 * make_traffic.c - writes a long recording of invented but realistic traffic, for timing.
 *
 * make_traffic FRAMES OUT.log OUT.pcap: the same frames as candump text and as a
 * capture of link type 227. Sixty groups from eight senders with periods of 10 ms
 * to 1 s, a bus load of some 60 %, values that change. Not for tests of meaning.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pcap/pcap.h>

#define GROUPS 60u
#define START_US INT64_C(1717000000000000)

struct group {
    uint32_t id;
    int64_t period_us, due_us;
    uint32_t counter;
};

static void make_groups(struct group groups[GROUPS])
{
    static const uint8_t senders[] = {0, 3, 28, 128, 131, 140, 240, 247};
    static const int64_t periods_ms[] = {10, 20, 50, 100, 100, 100, 100, 250, 500, 1000};
    static const uint32_t known[] = {65096, 65097, 61474, 65093, 65091, 65271, 61444, 129026};

    for (unsigned i = 0; i < GROUPS; i++) {
        uint32_t pgn = i < 8 ? known[i] : 65280 + i;
        groups[i].id = 3u << 26 | pgn << 8 | senders[i < 7 ? 6 : i == 7 ? 2 : i % 8];
        groups[i].period_us = periods_ms[i % 10] * 1000;
        groups[i].due_us = (int64_t)i * 1370;
    }
}

static void fill(struct group *g, uint8_t data[8])
{
    uint32_t speed = 2700 + g->counter % 200;

    memset(data, 0, 8);
    data[0] = (uint8_t)speed;
    data[1] = (uint8_t)(speed >> 8);
    data[2] = (uint8_t)g->counter;
    data[3] = (uint8_t)(g->counter >> 8);
    data[4] = 0x18;
    data[5] = 0x01;
    data[7] = 0xFD;
    g->counter++;
}

static struct group *next_due(struct group groups[GROUPS])
{
    struct group *next = &groups[0];

    for (unsigned i = 1; i < GROUPS; i++)
        if (groups[i].due_us < next->due_us)
            next = &groups[i];
    return next;
}

static void write_frame(FILE *text, pcap_dumper_t *capture, const struct group *g,
                        const uint8_t data[8])
{
    int64_t at_us = START_US + g->due_us;
    uint32_t word = g->id | 0x80000000u;
    uint8_t packet[16] = {(uint8_t)(word >> 24), (uint8_t)(word >> 16), (uint8_t)(word >> 8),
                          (uint8_t)word, 8};
    struct pcap_pkthdr header = {.caplen = 16, .len = 16};

    fprintf(text, "(%lld.%06lld) can0 %08X#", (long long)(at_us / 1000000),
            (long long)(at_us % 1000000), g->id);
    for (unsigned i = 0; i < 8; i++)
        fprintf(text, "%02X", data[i]);
    fputc('\n', text);
    memcpy(packet + 8, data, 8);
    header.ts.tv_sec = (time_t)(at_us / 1000000);
    header.ts.tv_usec = (suseconds_t)(at_us % 1000000);
    pcap_dump((uint8_t *)capture, &header, packet);
}

int main(int argc, char **argv)
{
    struct group groups[GROUPS] = {{0}};
    uint8_t data[8];

    if (argc != 4)
        return 2;
    FILE *text = fopen(argv[2], "wb");
    pcap_t *pcap = pcap_open_dead(227, 128);
    pcap_dumper_t *capture = pcap_dump_open(pcap, argv[3]);
    if (!text || !capture)
        return 2;
    make_groups(groups);
    for (long long left = atoll(argv[1]); left > 0; left--) {
        struct group *g = next_due(groups);
        fill(g, data);
        write_frame(text, capture, g, data);
        g->due_us += g->period_us;
    }
    pcap_dump_close(capture);
    pcap_close(pcap);
    return fclose(text) == 0 ? 0 : 2;
}
