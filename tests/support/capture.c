/* capture.c - see capture.h. */
#include "support/capture.h"

#include <string.h>

#define BLOCK_SECTION 0x0A0D0D0Au
#define BLOCK_INTERFACE 1u
#define BLOCK_PACKET_OBSOLETE 2u
#define BLOCK_SIMPLE_PACKET 3u
#define BLOCK_ENHANCED_PACKET 6u

static void add_record(struct bytes *out, const struct wire *w)
{
    if (w->link == LINK_COOKED_V1 || w->link == LINK_COOKED_V2)
        bytes_integer(out, w->id, 4);
    else
        bytes_network(out, w->id, 4);
    bytes_integer(out, w->length, 1);
    bytes_integer(out, w->flags, 1);
    bytes_integer(out, 0, 1);
    bytes_integer(out, w->raw_dlc, 1);
    bytes_add(out, w->data, w->data_bytes);
}

void wire_add(struct bytes *out, const struct wire *w)
{
    const uint32_t hardware_can = 280, type = w->sent ? 4 : 1;

    if (w->link == LINK_COOKED_V1) {
        bytes_network(out, type, 2);
        bytes_network(out, hardware_can, 2);
        bytes_repeat(out, 0, 2 + 8);
        bytes_network(out, w->protocol, 2);
    } else if (w->link == LINK_COOKED_V2) {
        bytes_network(out, w->protocol, 2);
        bytes_network(out, 0, 2);
        bytes_network(out, w->host_interface, 4);
        bytes_network(out, hardware_can, 2);
        bytes_network(out, type, 1);
        bytes_repeat(out, 0, 1 + 8);
    }
    add_record(out, w);
}

void pcap_start(struct bytes *file, uint32_t magic, int link)
{
    bytes_integer(file, magic, 4);
    bytes_integer(file, 2, 2);
    bytes_integer(file, 4, 2);
    bytes_integer(file, 0, 4);
    bytes_integer(file, 0, 4);
    bytes_integer(file, 65535, 4);
    bytes_integer(file, (uint64_t)link, 4);
}

void pcap_packet(struct bytes *file, uint32_t seconds, uint32_t fraction, const struct wire *w)
{
    struct bytes packet = {.big_endian = file->big_endian};

    wire_add(&packet, w);
    bytes_integer(file, seconds, 4);
    bytes_integer(file, fraction, 4);
    bytes_integer(file, packet.length, 4);
    bytes_integer(file, packet.length, 4);
    bytes_add(file, packet.data, packet.length);
    bytes_free(&packet);
}

void pcapng_block(struct bytes *file, uint32_t type, const struct bytes *body)
{
    size_t padding = (4 - body->length % 4) % 4, total = 12 + body->length + padding;

    bytes_integer(file, type, 4);
    bytes_integer(file, total, 4);
    bytes_add(file, body->data, body->length);
    bytes_repeat(file, 0, padding);
    bytes_integer(file, total, 4);
}

void pcapng_section(struct bytes *file)
{
    struct bytes body = {.big_endian = file->big_endian};

    bytes_integer(&body, 0x1A2B3C4Du, 4);
    bytes_integer(&body, 1, 2);
    bytes_integer(&body, 0, 2);
    bytes_integer(&body, UINT64_MAX, 8); /* length of the section: not stated */
    pcapng_block(file, BLOCK_SECTION, &body);
    bytes_free(&body);
}

void pcapng_option(struct bytes *options, uint32_t code, const void *value, size_t length)
{
    bytes_integer(options, code, 2);
    bytes_integer(options, length, 2);
    bytes_add(options, value, length);
    bytes_repeat(options, 0, (4 - length % 4) % 4);
}

void pcapng_interface(struct bytes *file, int link, const struct bytes *options)
{
    struct bytes body = {.big_endian = file->big_endian};

    bytes_integer(&body, (uint64_t)link, 2);
    bytes_integer(&body, 0, 2);
    bytes_integer(&body, 0, 4);
    if (options)
        bytes_add(&body, options->data, options->length);
    pcapng_block(file, BLOCK_INTERFACE, &body);
    bytes_free(&body);
}

void pcapng_named(struct bytes *file, int link, const char *name)
{
    struct bytes options = {.big_endian = file->big_endian};

    pcapng_option(&options, 2, name, strlen(name));
    pcapng_interface(file, link, &options);
    bytes_free(&options);
}

/* Lengths and bytes of the packet, padded, as the two kinds of stamped block hold them. */
static void add_packet(struct bytes *body, const struct wire *w)
{
    struct bytes packet = {.big_endian = body->big_endian};

    wire_add(&packet, w);
    bytes_integer(body, packet.length, 4);
    bytes_integer(body, packet.length, 4);
    bytes_add(body, packet.data, packet.length);
    bytes_repeat(body, 0, (4 - packet.length % 4) % 4);
    bytes_free(&packet);
}

void pcapng_packet(struct bytes *file, uint32_t interface, uint64_t stamp, const struct wire *w,
                   const struct bytes *options)
{
    struct bytes body = {.big_endian = file->big_endian};

    bytes_integer(&body, interface, 4);
    bytes_integer(&body, stamp >> 32, 4);
    bytes_integer(&body, stamp & 0xFFFFFFFFu, 4);
    add_packet(&body, w);
    if (options)
        bytes_add(&body, options->data, options->length);
    pcapng_block(file, BLOCK_ENHANCED_PACKET, &body);
    bytes_free(&body);
}

void pcapng_obsolete(struct bytes *file, uint32_t interface, uint64_t stamp, const struct wire *w)
{
    struct bytes body = {.big_endian = file->big_endian};

    bytes_integer(&body, interface, 2);
    bytes_integer(&body, 0xFFFF, 2); /* drops: not known */
    bytes_integer(&body, stamp >> 32, 4);
    bytes_integer(&body, stamp & 0xFFFFFFFFu, 4);
    add_packet(&body, w);
    pcapng_block(file, BLOCK_PACKET_OBSOLETE, &body);
    bytes_free(&body);
}

void pcapng_simple(struct bytes *file, const struct wire *w)
{
    struct bytes body = {.big_endian = file->big_endian}, packet = {.big_endian = file->big_endian};

    wire_add(&packet, w);
    bytes_integer(&body, packet.length, 4);
    bytes_add(&body, packet.data, packet.length);
    pcapng_block(file, BLOCK_SIMPLE_PACKET, &body);
    bytes_free(&packet);
    bytes_free(&body);
}

const struct wire pcapng_wire = {.link = LINK_CAN,
                                 .id = ID_EXTENDED | 0x18FEF100,
                                 .length = 8,
                                 .data = {1, 2, 3, 4, 5, 6, 7, 8},
                                 .data_bytes = 8};

struct bytes pcapng_start(bool big_endian)
{
    struct bytes file = {.big_endian = big_endian};

    pcapng_section(&file);
    pcapng_named(&file, LINK_CAN, "can0");
    return file;
}

uint64_t microseconds(uint64_t seconds)
{
    return seconds * 1000000;
}
