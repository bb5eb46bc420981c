/*
 * pcap.c - reader of classic capture files, by libpcap.
 *
 * libpcap reads the file header, and every packet that is not as usual; it corrects the
 * byte order of cooked packets to that of this machine. Its price for a packet is that of
 * everything else together, so usual ones are taken from the stream before it sees them:
 * whole, small, and where nothing has to be corrected. What is inside a packet is read by
 * can_packet.c. Captures of this form name no interface.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pcap/pcap.h>

#include "reading/can_packet.h"
#include "reading/cursor.h"
#include "reading/source.h"
#include "reading/stamp.h"
#include "text/own_stream.h"

#define UNNAMED_INTERFACE "unnamed"

/* File header and packet header as written by everybody since 1998: version 2.4. */
#define FILE_HEADER 24u
#define PACKET_HEADER 16u
#define MAGIC_MICROSECONDS 0xA1B2C3D4u
#define MAGIC_NANOSECONDS 0xA1B23C4Du
#define MAGIC_LONG_HEADERS 0xA1B2CD34u /* microseconds, with longer packet headers */

#define USUAL_PACKET_MAX 128u /* bytes; a cooked header and a CAN FD frame have 92 */

struct pcap_state {
    pcap_t *pcap;
    int link_type;
    bool ended;
    bool usual;         /* packets may be taken without libpcap */
    bool big_endian;    /* as such packets are written */
    uint32_t fraction_ns; /* 1 or 1000 */
    uint32_t snapshot;  /* longer packets are cut by libpcap */
    int interface;      /* of the last packet, and its index where packets have one; -1: none yet */
    uint32_t interface_index;
};

static bool pcap_reader_probe(const uint8_t *prefix, size_t length)
{
    static const uint32_t magics[] = {MAGIC_MICROSECONDS, MAGIC_NANOSECONDS, MAGIC_LONG_HEADERS};

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

/* libpcap wants a FILE, and a stream may be compressed. */
static ssize_t give(void *stream, char *out, size_t count)
{
    return (ssize_t)stream_read(stream, out, count);
}

static bool host_is_big_endian(void)
{
    const uint16_t one = 1;
    return *(const uint8_t *)&one == 0;
}

/* Whether the packets behind a file header can be usual ones; learns how they are written. */
static bool read_file_header(struct pcap_state *state, const uint8_t *bytes, size_t length)
{
    struct cursor c = cursor_over(bytes, length, true);
    uint32_t magic = cursor_u32(&c);

    state->big_endian = magic == MAGIC_MICROSECONDS || magic == MAGIC_NANOSECONDS;
    c.big_endian = state->big_endian;
    magic = state->big_endian ? magic : __builtin_bswap32(magic);
    uint32_t major = cursor_u16(&c), minor = cursor_u16(&c);
    (void)cursor_take(&c, 8); /* zone and accuracy, which nobody fills in */
    state->snapshot = cursor_u32(&c);
    uint32_t link_type = cursor_u32(&c);
    state->fraction_ns = magic == MAGIC_NANOSECONDS ? 1 : 1000;
    bool native = state->big_endian == host_is_big_endian();
    bool cooked = link_type == LINK_TYPE_COOKED_V1 || link_type == LINK_TYPE_COOKED_V2;
    return !c.failed && (magic == MAGIC_MICROSECONDS || magic == MAGIC_NANOSECONDS) &&
           major == 2 && minor == 4 && (link_type == LINK_TYPE_SOCKETCAN || (cooked && native));
}

static int pcap_reader_open(struct source *s, struct dbr_error *error)
{
    char reason[PCAP_ERRBUF_SIZE] = "";
    struct pcap_state *state = calloc(1, sizeof *state);
    const uint8_t *header;
    FILE *file = own_stream_to_read(&s->stream, give);

    s->state = state;
    if (!state || !file) {
        if (file)
            fclose(file);
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", s->info.path);
    }
    size_t visible = stream_peek(&s->stream, FILE_HEADER, &header);
    state->usual = read_file_header(state, header, visible);
    if (state->usual) /* then libpcap must not read on beyond what it needs */
        setvbuf(file, NULL, _IONBF, 0);
    state->pcap =
        pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, reason);
    if (!state->pcap) {
        fclose(file);
        return dbr_error_set(error, DBR_ERROR_FORMAT, "%s: damaged capture file header: %s",
                             s->info.path, reason);
    }
    state->link_type = pcap_datalink(state->pcap);
    state->interface = -1;
    return 0;
}

/* Most packets come from the interface of the one before. */
static int find_interface(struct source *s, uint32_t index)
{
    struct pcap_state *state = s->state;
    char name[DBR_INTERFACE_NAME_MAX] = UNNAMED_INTERFACE;

    if (state->interface >= 0 && state->interface_index == index)
        return state->interface;
    if (state->link_type == LINK_TYPE_COOKED_V2)
        snprintf(name, sizeof name, "index %u", index);
    state->interface = interface_table_index(s->interfaces, name, strlen(name));
    state->interface_index = index;
    return state->interface;
}

/* One packet; true where it became a frame. */
static bool take_packet(struct source *s, const struct pcap_pkthdr *header, const uint8_t *bytes,
                        struct dbr_frame *frame)
{
    const struct pcap_state *state = s->state;
    struct can_packet packet = {.frame = frame};
    enum dbr_rejection why;

    if (!can_packet_read(&packet, state->link_type, host_is_big_endian(), bytes, header->caplen,
                         &why)) {
        source_reject(s, why);
        return false;
    }
    if (header->ts.tv_usec < 0 || header->ts.tv_usec >= NS_PER_SECOND) {
        source_reject(s, DBR_REJECTION_BAD_STAMP);
        return false;
    }
    int interface = find_interface(s, packet.interface_index);
    if (interface < 0) {
        source_reject(s, DBR_REJECTION_INTERFACES);
        return false;
    }
    frame->interface = (uint8_t)interface;
    /* With nanosecond precision asked for, tv_usec holds nanoseconds. The file has 32 bits of
     * seconds; some versions of libpcap take the highest for a sign. */
    frame->at_ns =
        (int64_t)(uint32_t)header->ts.tv_sec * NS_PER_SECOND + header->ts.tv_usec;
    return true;
}

/* The next packet, where it is as usual; valid until the stream moves on. */
static bool take_usual(struct source *s, struct pcap_pkthdr *header, const uint8_t **bytes)
{
    const struct pcap_state *state = s->state;
    const uint8_t *at;
    size_t visible = state->usual ? stream_peek(&s->stream, PACKET_HEADER, &at) : 0;

    if (visible < PACKET_HEADER)
        return false;
    struct cursor c = cursor_over(at, PACKET_HEADER, state->big_endian);
    header->ts.tv_sec = cursor_u32(&c);
    header->ts.tv_usec = (suseconds_t)cursor_u32(&c) * state->fraction_ns;
    header->caplen = cursor_u32(&c);
    header->len = cursor_u32(&c);
    size_t whole = PACKET_HEADER + (size_t)header->caplen;
    if (header->caplen > USUAL_PACKET_MAX || header->caplen > state->snapshot ||
        (visible < whole && stream_peek(&s->stream, whole, &at) < whole))
        return false;
    *bytes = at + PACKET_HEADER;
    stream_skip(&s->stream, whole);
    return true;
}

/* As pcap_next_ex, which reads what is not as usual. */
static int next_packet(struct source *s, struct pcap_pkthdr *header, const uint8_t **bytes)
{
    const struct pcap_state *state = s->state;
    struct pcap_pkthdr *own;

    if (take_usual(s, header, bytes))
        return 1;
    int result = pcap_next_ex(state->pcap, &own, bytes);
    if (result == 1)
        *header = *own;
    return result;
}

static size_t pcap_reader_next(struct source *s, struct dbr_frame *frames, size_t capacity)
{
    struct pcap_state *state = s->state;
    size_t count = 0;

    while (count < capacity && !state->ended) {
        struct pcap_pkthdr header;
        const uint8_t *bytes;
        int result = next_packet(s, &header, &bytes);
        if (result == PCAP_ERROR_BREAK) { /* end of the file */
            state->ended = true;
            break;
        }
        s->place++;
        s->info.records++;
        if (result == 1) {
            count += take_packet(s, &header, bytes, &frames[count]);
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
