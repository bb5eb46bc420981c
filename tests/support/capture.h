/*
 * capture.h - capture files, built byte by byte.
 *
 * Written from the layouts themselves (link type registry, linux/can.h, the
 * drafts of the two capture file forms), not from the reader under test.
 */
#ifndef TESTS_SUPPORT_CAPTURE_H
#define TESTS_SUPPORT_CAPTURE_H

#include "support/bytes.h"

#define MAGIC_MICROSECONDS 0xA1B2C3D4u
#define MAGIC_NANOSECONDS 0xA1B23C4Du

#define LINK_CAN 227       /* SocketCAN */
#define LINK_COOKED_V1 113 /* Linux cooked capture */
#define LINK_COOKED_V2 276
#define LINK_ETHERNET 1

#define PROTOCOL_CAN 0x000Cu
#define PROTOCOL_FD 0x000Du
#define PROTOCOL_XL 0x000Eu
#define PROTOCOL_IPV4 0x0800u

#define ID_EXTENDED 0x80000000u
#define ID_REMOTE 0x40000000u
#define ID_ERROR 0x20000000u

/* What a packet holds: a SocketCAN record, and for cooked captures what stands before it. */
struct wire {
    int link;          /* LINK_... */
    uint32_t protocol; /* cooked: PROTOCOL_... */
    bool sent;         /* cooked: packet type 4, sent by us */
    uint32_t host_interface; /* cooked v2: interface index */
    uint32_t id;       /* with ID_ flags */
    uint8_t length;    /* the length byte */
    uint8_t flags;     /* FD flags */
    uint8_t raw_dlc;
    uint8_t data[64];
    size_t data_bytes; /* captured bytes of data; more than `length` is padding */
};

/* A packet's bytes; cooked ones hold their identifier in the byte order of `out`. */
void wire_add(struct bytes *out, const struct wire *w);

/* Classic capture files. */
void pcap_start(struct bytes *file, uint32_t magic, int link);
void pcap_packet(struct bytes *file, uint32_t seconds, uint32_t fraction, const struct wire *w);

/* Next-generation capture files: blocks; options are bytes of their own, NULL for none. */
void pcapng_block(struct bytes *file, uint32_t type, const struct bytes *body);
void pcapng_section(struct bytes *file);
void pcapng_interface(struct bytes *file, int link, const struct bytes *options);
void pcapng_packet(struct bytes *file, uint32_t interface, uint64_t stamp, const struct wire *w,
                   const struct bytes *options);
void pcapng_simple(struct bytes *file, const struct wire *w);
void pcapng_obsolete(struct bytes *file, uint32_t interface, uint64_t stamp, const struct wire *w);
void pcapng_option(struct bytes *options, uint32_t code, const void *value, size_t length);
/* A file with one interface "can0" of link type 227, stamps in microseconds; a packet for it. */
struct bytes pcapng_start(bool big_endian);
extern const struct wire pcapng_wire;
uint64_t microseconds(uint64_t seconds);

/* An interface of the usual kind: microseconds, with this name. */
void pcapng_named(struct bytes *file, int link, const char *name);

#endif
