/*
 * pcapng.c - reader of next-generation capture files.
 *
 * A walker of our own, because libpcap hides which interface a packet came from
 * and stops at a second link type. Layout of the blocks: the IETF draft
 * draft-ietf-opsawg-pcapng, sections 4.1 to 4.4 (section header, interface
 * description, simple packet, enhanced packet) and its appendix A (the obsolete
 * packet block).
 *
 * Each block is: type(4), total length(4), body, total length(4), in the byte
 * order of its section. Only blocks that matter are looked at as a whole; others
 * are passed over, whatever their size.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/limits.h"
#include "reading/can_packet.h"
#include "reading/cursor.h"
#include "reading/source.h"
#include "reading/stamp.h"

#define BLOCK_SECTION 0x0A0D0D0Au
#define BLOCK_INTERFACE 1u
#define BLOCK_PACKET_OBSOLETE 2u
#define BLOCK_SIMPLE_PACKET 3u
#define BLOCK_ENHANCED_PACKET 6u
#define BYTE_ORDER_MAGIC 0x1A2B3C4Du

#define UNDESCRIBED (-1) /* link type of an interface whose description is damaged */

#define BLOCK_HEADER 8u
#define BLOCK_MIN 12u
#define SECTION_MIN 28u /* with its fixed fields and without options */

#define OPTION_END 0u
#define OPTION_IF_NAME 2u
#define OPTION_IF_TSRESOL 9u
#define OPTION_IF_TSOFFSET 14u
#define OPTION_PACKET_FLAGS 2u
#define RESOLUTION_BINARY 0x80u
#define RESOLUTION_USUAL 6u /* where the option is missing: microseconds */
#define FLAGS_DIRECTION 0x3u
#define FLAGS_OUTBOUND 0x2u

struct capture_interface {
    int link_type;
    int index;              /* in the recording; -1: not assigned yet, -2: no room */
    uint8_t resolution;     /* of its time stamps, as if_tsresol tells it */
    uint64_t units_per_s;   /* the same; 0: none that 64 bits hold */
    int64_t offset_s;       /* added to its time stamps */
    char name[DBR_INTERFACE_NAME_MAX];
};

struct pcapng_state {
    bool big_endian;
    bool ended;
    size_t interface_count;
    uint64_t interfaces_beyond; /* described, but beyond the ceiling */
    struct capture_interface interfaces[DBR_CAPTURE_INTERFACES_MAX];
};

/* A packet as the three kinds of packet block describe it. */
struct packet {
    uint32_t interface;
    bool stamped;
    uint64_t stamp;
    uint32_t captured;
    const uint8_t *bytes;
    bool outbound;
};

static bool pcapng_probe(const uint8_t *prefix, size_t length)
{
    struct cursor c = cursor_over(prefix, length, false);
    return cursor_u32(&c) == BLOCK_SECTION && !c.failed;
}

static int pcapng_open(struct source *s, struct dbr_error *error)
{
    const uint8_t *bytes;

    s->state = calloc(1, sizeof(struct pcapng_state));
    if (!s->state)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", s->info.path);
    if (stream_peek(&s->stream, SECTION_MIN, &bytes) < SECTION_MIN)
        return dbr_error_set(error, DBR_ERROR_FORMAT,
                             "%s: damaged capture file: its section header is cut short",
                             s->info.path);
    return 0;
}

/* One option: code(2), length(2), value padded to four bytes. False at the end of the options. */
static bool next_option(struct cursor *c, uint16_t *code, struct cursor *value)
{
    if (cursor_left(c) < 4)
        return false;
    *code = cursor_u16(c);
    uint16_t length = cursor_u16(c);
    const uint8_t *bytes = cursor_take(c, length);
    if (*code == OPTION_END || !bytes)
        return false;
    *value = cursor_over(bytes, length, c->big_endian);
    size_t padding = (4u - length % 4u) % 4u;
    (void)cursor_take(c, padding <= cursor_left(c) ? padding : cursor_left(c));
    return true;
}

/*
 * if_tsresol: the negative power of ten, or with the top bit set of two, that is a unit (section
 * 4.2). From 10^-20 and 2^-64 on a stamp of 64 bits wraps within a second.
 */
static void set_resolution(struct capture_interface *interface, uint8_t resolution)
{
    unsigned power = resolution & ~RESOLUTION_BINARY;
    unsigned base = resolution & RESOLUTION_BINARY ? 2 : 10;

    interface->resolution = resolution;
    interface->units_per_s = power <= (base == 2 ? 63 : 19);
    for (; interface->units_per_s > 0 && power > 0; power--)
        interface->units_per_s *= base;
}

static void read_interface_options(struct capture_interface *interface, struct cursor *c)
{
    struct cursor value;
    uint16_t code;

    while (next_option(c, &code, &value)) {
        if (code == OPTION_IF_NAME && value.length > 0 && value.data[0] != '\0') {
            size_t length = value.length < sizeof interface->name - 1 ? value.length
                                                                      : sizeof interface->name - 1;
            memcpy(interface->name, value.data, length);
            interface->name[length] = '\0';
        } else if (code == OPTION_IF_TSRESOL && value.length >= 1) {
            set_resolution(interface, cursor_u8(&value));
        } else if (code == OPTION_IF_TSOFFSET && value.length >= 8) {
            interface->offset_s = (int64_t)cursor_integer(&value, 8);
        }
    }
}

/* Interface description: link type(2), reserved(2), snapshot length(4), options. */
static void take_interface(struct pcapng_state *state, struct cursor *c)
{
    if (state->interface_count == DBR_CAPTURE_INTERFACES_MAX) {
        state->interfaces_beyond++;
        return;
    }
    struct capture_interface *interface = &state->interfaces[state->interface_count];
    *interface = (struct capture_interface){.index = -1};
    set_resolution(interface, RESOLUTION_USUAL);
    interface->link_type = cursor_u16(c);
    cursor_u16(c);
    cursor_u32(c);
    if (c->failed) /* takes its place all the same: packets name interfaces by their order */
        interface->link_type = UNDESCRIBED;
    snprintf(interface->name, sizeof interface->name, "unnamed %zu", state->interface_count);
    read_interface_options(interface, c);
    state->interface_count++;
}

/* Fixed part and data of a packet block; false where the block is too short for them. */
static bool read_packet(struct packet *packet, uint32_t type, struct cursor *c)
{
    *packet = (struct packet){.stamped = type != BLOCK_SIMPLE_PACKET};
    if (type == BLOCK_ENHANCED_PACKET)
        packet->interface = cursor_u32(c);
    if (type == BLOCK_PACKET_OBSOLETE) {
        packet->interface = cursor_u16(c);
        cursor_u16(c); /* drops */
    }
    if (packet->stamped) {
        packet->stamp = (uint64_t)cursor_u32(c) << 32;
        packet->stamp |= cursor_u32(c);
        packet->captured = cursor_u32(c);
        cursor_u32(c); /* length on the wire */
    } else {
        uint32_t original = cursor_u32(c);
        packet->captured = original < cursor_left(c) ? original : (uint32_t)cursor_left(c);
    }
    packet->bytes = cursor_take(c, packet->captured);
    if (!packet->bytes)
        return false;
    size_t padding = (4u - packet->captured % 4u) % 4u;
    if (type == BLOCK_SIMPLE_PACKET || cursor_left(c) < padding)
        return true;
    (void)cursor_take(c, padding);
    struct cursor value;
    uint16_t code;
    while (next_option(c, &code, &value))
        if (code == OPTION_PACKET_FLAGS && value.length >= 4)
            packet->outbound = (cursor_u32(&value) & FLAGS_DIRECTION) == FLAGS_OUTBOUND;
    return true;
}

/*
 * Units of less than a second in nanoseconds, rounded down; no product exceeds 64 bits: a power of
 * two beyond 2^34 is taken in two steps, with what lies below the first as its carry.
 */
static uint64_t units_to_ns(uint8_t resolution, uint64_t units)
{
    const uint64_t ns_per_s = NS_PER_SECOND;
    unsigned power = resolution & ~RESOLUTION_BINARY;

    if (resolution & RESOLUTION_BINARY) {
        unsigned below = power > 34 ? power - 34 : 0;
        uint64_t high = units >> below, low = units - (high << below);
        return (high * ns_per_s + (low * ns_per_s >> below)) >> (power - below);
    }
    for (; power < 9; power++)
        units *= 10;
    for (; power > 9; power--)
        units /= 10;
    return units;
}

/* The stamp in nanoseconds, or why there is none: DBR_REJECTION_COUNT where all is well. */
static enum dbr_rejection stamp_to_ns(const struct capture_interface *interface, uint64_t stamp,
                                      int64_t *ns)
{
    const uint64_t seconds_max = INT64_MAX / NS_PER_SECOND - 1;

    if (interface->units_per_s == 0)
        return DBR_REJECTION_STAMP_UNIT;
    uint64_t seconds = stamp / interface->units_per_s;
    uint64_t shifted = seconds + (uint64_t)interface->offset_s;
    bool wraps = (interface->offset_s < 0) != (shifted < seconds);
    if (wraps || shifted > seconds_max)
        return DBR_REJECTION_STAMP_RANGE;
    *ns = (int64_t)(shifted * (uint64_t)NS_PER_SECOND +
                    units_to_ns(interface->resolution, stamp % interface->units_per_s));
    return DBR_REJECTION_COUNT;
}

/* Cooked v2 packets of one description may come from several interfaces of the host. */
static int packet_interface(struct source *s, struct capture_interface *interface,
                            uint32_t index_on_host)
{
    char name[DBR_INTERFACE_NAME_MAX];

    if (interface->link_type == LINK_TYPE_COOKED_V2) {
        int length = snprintf(name, sizeof name, "index %u", index_on_host);
        return interface_table_index(s->interfaces, name, (size_t)length);
    }
    if (interface->index < 0)
        interface->index =
            interface_table_index(s->interfaces, interface->name, strlen(interface->name));
    return interface->index;
}

/* Why a packet is no frame, or DBR_REJECTION_COUNT where it is one. */
static enum dbr_rejection packet_to_frame(struct source *s, const struct packet *packet,
                                          struct dbr_frame *frame)
{
    struct pcapng_state *state = s->state;
    struct can_packet can = {.frame = frame};
    enum dbr_rejection why;

    if (packet->interface >= state->interface_count)
        return state->interfaces_beyond ? DBR_REJECTION_INTERFACES : DBR_REJECTION_NO_INTERFACE;
    struct capture_interface *interface = &state->interfaces[packet->interface];
    if (interface->link_type == UNDESCRIBED)
        return DBR_REJECTION_NO_INTERFACE;
    if (!can_packet_read(&can, interface->link_type, state->big_endian, packet->bytes,
                         packet->captured, &why))
        return why;
    int index = packet_interface(s, interface, can.interface_index);
    if (index < 0)
        return DBR_REJECTION_INTERFACES;
    frame->interface = (uint8_t)index;
    frame->flags |= (uint8_t)(packet->outbound ? DBR_FRAME_SENT : 0);
    frame->at_ns = NO_STAMP;
    return packet->stamped ? stamp_to_ns(interface, packet->stamp, &frame->at_ns)
                           : DBR_REJECTION_COUNT;
}

static bool take_packet(struct source *s, uint32_t type, struct cursor *c,
                        struct dbr_frame *frame)
{
    struct packet packet;

    enum dbr_rejection why = read_packet(&packet, type, c) ? packet_to_frame(s, &packet, frame)
                                                           : DBR_REJECTION_PACKET_SHORT;
    if (why != DBR_REJECTION_COUNT)
        source_reject(s, why);
    return why == DBR_REJECTION_COUNT;
}

static bool is_packet(uint32_t type)
{
    return type == BLOCK_ENHANCED_PACKET || type == BLOCK_SIMPLE_PACKET ||
           type == BLOCK_PACKET_OBSOLETE;
}

/* The file stops making sense here. A packet that is cut counts as a record that was rejected. */
static bool break_off(struct source *s, uint32_t type, const char *why)
{
    struct pcapng_state *state = s->state;

    if (is_packet(type)) {
        s->place++;
        s->info.records++;
        source_reject(s, DBR_REJECTION_PACKET_CUT);
    }
    source_truncate(s, "after packet %llu: %s", (unsigned long long)s->place, why);
    state->ended = true;
    return false;
}

/* A section header sets the byte order and forgets the interfaces (section 4.1). */
static bool start_section(struct source *s, const uint8_t *bytes, size_t visible)
{
    struct pcapng_state *state = s->state;
    struct cursor c = cursor_over(bytes, visible, false);

    (void)cursor_take(&c, BLOCK_HEADER);
    uint32_t magic = cursor_u32(&c);
    if (c.failed || (magic != BYTE_ORDER_MAGIC && magic != __builtin_bswap32(BYTE_ORDER_MAGIC)))
        return break_off(s, BLOCK_SECTION, "a section header is damaged");
    state->big_endian = magic != BYTE_ORDER_MAGIC;
    state->interface_count = 0;
    state->interfaces_beyond = 0;
    return true;
}

/* The next block that matters, whole; its body (without both lengths) in `body`. */
static bool next_block(struct source *s, uint32_t *type, struct cursor *body, size_t *total)
{
    struct pcapng_state *state = s->state;
    const uint8_t *bytes;
    size_t visible = stream_peek(&s->stream, BLOCK_MIN, &bytes);

    if (visible == 0)
        return false;
    struct cursor c = cursor_over(bytes, visible, state->big_endian);
    *type = cursor_u32(&c); /* the section header's type reads the same in both orders */
    if (c.failed || visible < BLOCK_MIN)
        return break_off(s, c.failed ? 0 : *type, "a block is cut short");
    if (*type == BLOCK_SECTION && !start_section(s, bytes, visible))
        return false;
    c.big_endian = state->big_endian;
    uint32_t length = cursor_u32(&c);
    if (length < BLOCK_MIN || length % 4 != 0)
        return break_off(s, 0, "a block has an impossible length");
    *total = length;
    if (length > DBR_STREAM_WINDOW || (!is_packet(*type) && *type != BLOCK_INTERFACE)) {
        *body = cursor_over(bytes, 0, state->big_endian);
        return true;
    }
    if (stream_peek(&s->stream, length, &bytes) < length)
        return break_off(s, *type, "the file ends inside a block");
    *body = cursor_over(bytes + BLOCK_HEADER, length - BLOCK_MIN, state->big_endian);
    struct cursor trailer = cursor_over(bytes + length - 4, 4, state->big_endian);
    if (cursor_u32(&trailer) != length)
        return break_off(s, *type, "the two lengths of a block differ");
    return true;
}

static size_t pcapng_next(struct source *s, struct dbr_frame *frames, size_t capacity)
{
    struct pcapng_state *state = s->state;
    struct cursor body;
    uint32_t type;
    size_t count = 0, total = 0;

    while (count < capacity && !state->ended && next_block(s, &type, &body, &total)) {
        if (type == BLOCK_INTERFACE)
            take_interface(state, &body);
        if (is_packet(type)) {
            s->place++;
            s->info.records++;
            count += take_packet(s, type, &body, &frames[count]);
        }
        if (!stream_discard(&s->stream, total))
            break_off(s, 0, "the file ends inside a block");
    }
    return count;
}

static void pcapng_close(struct source *s)
{
    free(s->state);
}

const struct reader pcapng_reader = {
    .name = "pcapng",
    .probe = pcapng_probe,
    .open = pcapng_open,
    .next = pcapng_next,
    .close = pcapng_close,
};
