/*
 * pcap.c - reader of classic capture files, by libpcap.
 *
 * libpcap reads the container and corrects the byte order of cooked packets to
 * that of this machine; what is inside a packet is read by can_packet.c.
 * Captures of this form name no interface.
 */
#define _GNU_SOURCE /* fopencookie: libpcap wants a FILE, and a stream may be compressed */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pcap/pcap.h>

#include "reading/can_packet.h"
#include "reading/source.h"
#include "reading/stamp.h"

#define UNNAMED_INTERFACE "unnamed"

struct pcap_state {
    pcap_t *pcap;
    int link_type;
    bool ended;
};

/* Magic numbers: microseconds, nanoseconds, and microseconds with longer packet headers. */
static bool pcap_reader_probe(const uint8_t *prefix, size_t length)
{
    static const uint32_t magics[] = {0xA1B2C3D4u, 0xA1B23C4Du, 0xA1B2CD34u};

    if (length < 4)
        return false;
    uint32_t big = (uint32_t)prefix[0] << 24 | (uint32_t)prefix[1] << 16 |
                   (uint32_t)prefix[2] << 8 | prefix[3];
    uint32_t little = __builtin_bswap32(big);
    for (size_t i = 0; i < sizeof magics / sizeof magics[0]; i++)
        if (big == magics[i] || little == magics[i])
            return true;
    return false;
}

static ssize_t cookie_read(void *cookie, char *out, size_t count)
{
    return (ssize_t)stream_read(cookie, out, count);
}

static bool host_is_big_endian(void)
{
    const uint16_t one = 1;
    return *(const uint8_t *)&one == 0;
}

static int pcap_reader_open(struct source *s, struct dbr_error *error)
{
    char reason[PCAP_ERRBUF_SIZE] = "";
    struct pcap_state *state = calloc(1, sizeof *state);
    FILE *file = fopencookie(&s->stream, "r", (cookie_io_functions_t){.read = cookie_read});

    s->state = state;
    if (!state || !file) {
        if (file)
            fclose(file);
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", s->info.path);
    }
    state->pcap =
        pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, reason);
    if (!state->pcap) {
        fclose(file);
        return dbr_error_set(error, DBR_ERROR_FORMAT, "%s: damaged capture file header: %s",
                             s->info.path, reason);
    }
    state->link_type = pcap_datalink(state->pcap);
    return 0;
}

/* One packet; true where it became a frame. */
static bool take_packet(struct source *s, const struct pcap_pkthdr *header, const uint8_t *bytes,
                        struct dbr_frame *frame)
{
    const struct pcap_state *state = s->state;
    struct can_packet packet;
    enum dbr_rejection why;
    char name[DBR_INTERFACE_NAME_MAX] = UNNAMED_INTERFACE;

    if (!can_packet_read(&packet, state->link_type, host_is_big_endian(), bytes, header->caplen,
                         &why)) {
        source_reject(s, why);
        return false;
    }
    if (state->link_type == LINK_TYPE_COOKED_V2)
        snprintf(name, sizeof name, "index %u", packet.interface_index);
    if (header->ts.tv_usec < 0 || header->ts.tv_usec >= NS_PER_SECOND) {
        source_reject(s, DBR_REJECTION_BAD_STAMP);
        return false;
    }
    int interface = interface_table_index(s->interfaces, name, strlen(name));
    if (interface < 0) {
        source_reject(s, DBR_REJECTION_INTERFACES);
        return false;
    }
    *frame = packet.frame;
    frame->interface = (uint8_t)interface;
    /* With nanosecond precision asked for, tv_usec holds nanoseconds. The file has 32 bits of
     * seconds; some versions of libpcap take the highest for a sign. */
    frame->at_ns =
        (int64_t)(uint32_t)header->ts.tv_sec * NS_PER_SECOND + header->ts.tv_usec;
    return true;
}

static size_t pcap_reader_next(struct source *s, struct dbr_frame *frames, size_t capacity)
{
    struct pcap_state *state = s->state;
    size_t count = 0;

    while (count < capacity && !state->ended) {
        struct pcap_pkthdr *header;
        const uint8_t *bytes;
        int result = pcap_next_ex(state->pcap, &header, &bytes);
        if (result == PCAP_ERROR_BREAK) { /* end of the file */
            state->ended = true;
            break;
        }
        s->place++;
        s->info.records++;
        if (result == 1) {
            count += take_packet(s, header, bytes, &frames[count]);
            continue;
        }
        source_reject(s, DBR_REJECTION_PACKET_CUT);
        source_truncate(s, "packet %llu cannot be read: %s", (unsigned long long)s->place,
                        pcap_geterr(state->pcap));
        state->ended = true;
    }
    return count;
}

static void pcap_reader_close(struct source *s)
{
    struct pcap_state *state = s->state;

    if (state && state->pcap)
        pcap_close(state->pcap);
    free(state);
}

const struct reader pcap_reader = {
    .name = "pcap",
    .probe = pcap_reader_probe,
    .open = pcap_reader_open,
    .next = pcap_reader_next,
    .close = pcap_reader_close,
};
