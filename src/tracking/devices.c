/* devices.c - see devices.h. */
#include "tracking/devices.h"

#include <stdlib.h>
#include <string.h>

#include "drawbar/process_data.h"
#include "reading/cursor.h"

/* First bytes of process data (ISO 11783-10 annex B): sub-command in bits 5-8, command in 1-4. */
enum first_byte {
    VERSION = 0x10,
    STRUCTURE_ASKED = 0x01,
    STRUCTURE_TOLD = 0x11,
    LOCALIZATION_TOLD = 0x31,
    TRANSFER_ASKED = 0x41,
    TRANSFER_ALLOWED = 0x51,
    TRANSFER = 0x61,
    TRANSFER_TAKEN = 0x71,
    ACTIVATE = 0x81,
    ACTIVATED = 0x91,
    DELETE_ASKED = 0xA1,
    DELETED = 0xB1,
    DESIGNATOR = 0xC1,
    DESIGNATOR_TAKEN = 0xD1
};

#define MESSAGE_BYTES 8u

static bool name_of(const struct ecu *ecu, uint64_t *name)
{
    if (!ecu || ecu->seen.name_count == 0)
        return false;
    *name = ecu->seen.names[ecu->seen.name_count - 1];
    return true;
}

/* By NAME where it is known, else by the address. */
static size_t find(const struct devices *d, const struct ecus *ecus, uint8_t interface,
                   uint8_t address)
{
    uint64_t name = 0;
    bool named = name_of(ecus->by_address[interface][address], &name);

    for (size_t i = 0; named && i < d->count; i++)
        if (d->items[i].seen.interface == interface && d->items[i].seen.named &&
            d->items[i].seen.name == name)
            return i;
    for (size_t i = 0; i < d->count; i++)
        if (d->items[i].seen.interface == interface && d->items[i].seen.address == address &&
            !(named && d->items[i].seen.named))
            return i;
    return d->count;
}

/* The client at an address, made where it is new; NULL for everyone, and beyond the ceiling. */
static struct client *client_at(struct devices *d, const struct ecus *ecus, uint8_t interface,
                                uint8_t address, int64_t now)
{
    size_t i = find(d, ecus, interface, address);

    if (address >= DBR_ADDRESS_NULL)
        return NULL;
    if (i == DBR_DEVICES_MAX) {
        d->beyond++;
        return NULL;
    }
    struct client *c = &d->items[i];
    if (i == d->count) {
        *c = (struct client){.renamed_id = DBR_OBJECT_NONE};
        c->seen = (struct dbr_device_story){.interface = interface,
                                            .first_ns = now,
                                            .version = DBR_VERSION_UNKNOWN,
                                            .controller_version = DBR_VERSION_UNKNOWN};
        d->count++;
    }
    c->seen.address = address;
    c->seen.named = name_of(ecus->by_address[interface][address], &c->seen.name) || c->seen.named;
    return c;
}

/* The lower of the versions that both sides told: by that they talk. */
static uint8_t version_of(const struct client *c)
{
    uint8_t own = c->seen.version, other = c->seen.controller_version;
    return own < other ? own : other; /* unknown is the highest */
}

/* Reads the bytes that came; what was read before gives way. */
static void read_description(struct devices *d, struct client *c)
{
    const struct dbr_pool_layout layout = {.version = version_of(c),
                                           .part_count = c->part_count,
                                           .part_starts = c->part_starts,
                                           .broke_off = c->seen.from_prefix ||
                                                        c->seen.bytes_beyond > 0};

    if (!c->unread)
        return;
    c->unread = false;
    dbr_device_free(c->device);
    c->device = dbr_device_parse(c->bytes, c->length, &layout);
    c->seen.description = c->device;
    d->out_of_memory = d->out_of_memory || !c->device;
}

static bool begins_with_device(const uint8_t *objects, size_t length)
{
    return length >= 3 && memcmp(objects, dbr_object_tag(DBR_OBJECT_DEVICE), 3) == 0;
}

static void begin_anew(struct client *c)
{
    c->length = c->part_count = 0;
    c->seen.transfers = c->seen.bytes_beyond = 0;
    c->seen.from_prefix = c->seen.deleted = c->seen.activated = false;
}

static bool make_room(struct client *c, size_t needed)
{
    size_t capacity = c->capacity > 0 ? c->capacity : 4096;

    while (capacity < needed)
        capacity *= 2;
    uint8_t *bytes = capacity > c->capacity ? realloc(c->bytes, capacity) : c->bytes;
    if (!bytes)
        return false;
    c->bytes = bytes;
    c->capacity = capacity;
    return true;
}

static void add_objects(struct devices *d, struct client *c, const uint8_t *objects, size_t length)
{
    bool whole_new = begins_with_device(objects, length) &&
                     (c->seen.ever_activated || begins_with_device(c->bytes, c->length));

    if (c->part_count == 0 || whole_new || c->seen.from_prefix || c->seen.deleted)
        begin_anew(c);
    size_t room = DBR_POOL_BYTES_MAX - c->length;
    size_t take = c->part_count == DBR_POOL_PARTS_MAX ? 0 : length < room ? length : room;
    c->seen.bytes_beyond += length - take;
    if (take == 0)
        return;
    if (!make_room(c, c->length + take)) {
        d->out_of_memory = true;
        return;
    }
    memcpy(c->bytes + c->length, objects, take);
    c->part_starts[c->part_count++] = c->length;
    c->length += take;
    c->unread = true;
}

static void take_objects(struct devices *d, struct client *c, const struct sighting *s)
{
    add_objects(d, c, s->data + 1, s->length - 1);
    c->seen.transfers++;
}

static void refuse(struct client *c, const struct dbr_device_refusal *refusal)
{
    c->seen.refused++;
    if (c->seen.refusal_count < DBR_DEVICE_REFUSALS_MAX)
        c->seen.refusals[c->seen.refusal_count++] = *refusal;
}

/* A response whose byte 2 is 0 where all is well. */
static void take_response(struct client *c, enum dbr_refusal_kind kind, const struct sighting *s)
{
    struct cursor at = cursor_over(s->data + 1, MESSAGE_BYTES - 1, false);
    struct dbr_device_refusal refusal = {.kind = kind,
                                         .at_ns = s->now_ns,
                                         .parent = DBR_OBJECT_NONE,
                                         .object = DBR_OBJECT_NONE};

    refusal.reasons = cursor_u8(&at);
    if (refusal.reasons == 0)
        return;
    if (kind == DBR_REFUSED_ACTIVATION) {
        refusal.parent = cursor_u16(&at);
        refusal.object = cursor_u16(&at);
        refusal.object_reasons = cursor_u8(&at);
        c->seen.activated = false;
    } else if (kind == DBR_REFUSED_DELETION) {
        refusal.reasons = cursor_u8(&at);
        c->seen.deleted = false;
    }
    refuse(c, &refusal);
}

static void rename_pending(struct client *c)
{
    if (c->renamed_id != DBR_OBJECT_NONE && c->device)
        dbr_device_rename(c->device, c->renamed_id, c->renamed, c->renamed_length);
    c->renamed_id = DBR_OBJECT_NONE;
}

/* Object id, length of the text, text. It holds unless the controller says that it does not. */
static void take_designator(struct devices *d, struct client *c, const struct sighting *s)
{
    struct cursor at = cursor_over(s->data + 1, s->length - 1, false);
    uint16_t id = cursor_u16(&at);
    size_t length = cursor_u8(&at), left = cursor_left(&at);

    read_description(d, c);
    rename_pending(c);
    c->renamed_id = id;
    c->renamed_length = length < left ? length : left;
    memcpy(c->renamed, at.data + at.offset, c->renamed_length);
}

/* Object id, 0 where the designator was changed. */
static void take_designator_response(struct client *c, const struct sighting *s)
{
    struct cursor at = cursor_over(s->data + 1, MESSAGE_BYTES - 1, false);
    uint16_t id = cursor_u16(&at);
    uint8_t reasons = cursor_u8(&at);

    if (reasons == 0) {
        rename_pending(c);
        return;
    }
    c->renamed_id = DBR_OBJECT_NONE;
    refuse(c, &(struct dbr_device_refusal){DBR_REFUSED_DESIGNATOR, s->now_ns, reasons,
                                           DBR_OBJECT_NONE, id, 0});
}

/* A label that the controller has stored; all FF: none. */
static void take_label(bool *told, uint8_t label[DBR_LABEL_BYTES], const uint8_t *bytes)
{
    static const uint8_t none[DBR_LABEL_BYTES] = {0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};

    *told = memcmp(bytes, none, DBR_LABEL_BYTES) != 0;
    memcpy(label, bytes, DBR_LABEL_BYTES);
}

static void take_activation(struct devices *d, struct client *c, bool on)
{
    read_description(d, c);
    c->seen.activated = on;
    c->seen.ever_activated = c->seen.ever_activated || on;
}

static void take_descriptor(struct devices *d, struct client *c, const struct sighting *s)
{
    c->speaks = true;
    switch (s->data[0]) {
    case STRUCTURE_TOLD:
        take_label(&c->seen.structure_told, c->seen.structure_label, s->data + 1);
        break;
    case LOCALIZATION_TOLD:
        take_label(&c->seen.localization_told, c->seen.localization_label, s->data + 1);
        break;
    case TRANSFER_ASKED:
        c->announced = true;
        break;
    case TRANSFER:
        take_objects(d, c, s);
        break;
    case ACTIVATE:
        take_activation(d, c, s->data[1] != 0);
        break;
    case DELETE_ASKED:
        c->seen.deleted = true;
        break;
    case DESIGNATOR:
        take_designator(d, c, s);
        break;
    case TRANSFER_ALLOWED:
        take_response(c, DBR_REFUSED_MEMORY, s);
        break;
    case TRANSFER_TAKEN:
        take_response(c, DBR_REFUSED_TRANSFER, s);
        break;
    case ACTIVATED:
        take_response(c, DBR_REFUSED_ACTIVATION, s);
        break;
    case DELETED:
        take_response(c, DBR_REFUSED_DELETION, s);
        break;
    case DESIGNATOR_TAKEN:
        take_designator_response(c, s);
        break;
    default: /* questions for labels, and what no edition that we know defines */
        break;
    }
}

/* Questions of the implement have even sub-commands, answers of the controller odd ones. */
static bool is_answer(uint8_t first)
{
    return (first & 0x10u) != 0;
}

static void take_version(struct devices *d, const struct ecus *ecus, const struct sighting *s,
                         bool by_controller)
{
    uint8_t subject = by_controller ? s->id.destination : s->id.source;
    struct client *c = client_at(d, ecus, s->frame->interface, subject, s->now_ns);

    if (c && by_controller)
        c->seen.controller_version = s->data[1];
    else if (c)
        c->seen.version = s->data[1];
}

void devices_message(struct devices *d, const struct ecus *ecus, const struct sighting *s,
                     bool by_controller)
{
    if (s->id.pgn != DBR_PGN_PROCESS_DATA || s->length < MESSAGE_BYTES)
        return;
    if (s->data[0] == VERSION)
        take_version(d, ecus, s, by_controller);
    if ((s->data[0] & 0x0Fu) != DBR_PROCESS_DEVICE_DESCRIPTOR)
        return;
    uint8_t subject = is_answer(s->data[0]) ? s->id.destination : s->id.source;
    struct client *c = client_at(d, ecus, s->frame->interface, subject, s->now_ns);
    if (c)
        take_descriptor(d, c, s);
}

/* Whole ones come as messages. Of one that failed, what came of it serves where nothing better
 * is known. */
void devices_transfer(struct devices *d, const struct ecus *ecus, const struct dbr_transfer *t,
                      bool by_controller)
{
    bool known = t->prefix_length > 0 && t->prefix[0] == TRANSFER;

    if (t->pgn != DBR_PGN_PROCESS_DATA || by_controller || t->data ||
        (t->prefix_length > 0 && !known))
        return;
    struct client *c = client_at(d, ecus, t->interface, t->source, t->end_ns);
    if (!c || (!known && !c->announced))
        return;
    c->speaks = true;
    c->seen.failed++;
    c->seen.failure = (struct dbr_device_failure){.end = t->end,
                                                  .at_ns = t->end_ns,
                                                  .packets = t->packets,
                                                  .received = t->received,
                                                  .extended = t->carrier == DBR_CARRIER_EXTENDED,
                                                  .abort_reason = t->abort_reason};
    if (!known || c->seen.transfers > 0)
        return;
    begin_anew(c);
    add_objects(d, c, t->prefix + 1, t->prefix_length - 1);
    c->seen.from_prefix = true;
}

/* Where the ECU with this NAME is in the end. */
static void follow_name(struct client *c, const struct ecus *ecus)
{
    uint64_t name = 0;

    if (!c->seen.named || (name_of(ecus->by_address[c->seen.interface][c->seen.address], &name) &&
                           name == c->seen.name))
        return;
    for (size_t i = 0; i < ecus->count; i++)
        if (ecus->items[i]->seen.interface == c->seen.interface &&
            name_of(ecus->items[i], &name) && name == c->seen.name)
            c->seen.address = ecus->items[i]->seen.address;
}

bool devices_finish(struct devices *d, const struct ecus *ecus)
{
    for (size_t i = 0; i < d->count; i++) {
        read_description(d, &d->items[i]);
        rename_pending(&d->items[i]);
        follow_name(&d->items[i], ecus);
    }
    return !d->out_of_memory;
}

void devices_release(struct devices *d)
{
    for (size_t i = 0; i < d->count; i++) {
        dbr_device_free(d->items[i].device);
        free(d->items[i].bytes);
    }
}

const struct dbr_device *devices_description(const struct devices *d, const struct ecus *ecus,
                                             uint8_t interface, uint8_t address)
{
    size_t i = find(d, ecus, interface, address);
    return i < d->count ? d->items[i].device : NULL;
}

struct dbr_device_story *devices_gather(const struct devices *d, size_t *count)
{
    struct dbr_device_story *stories = calloc(d->count + 1, sizeof *stories);

    *count = 0;
    for (size_t i = 0; stories && i < d->count; i++)
        if (d->items[i].speaks)
            stories[(*count)++] = d->items[i].seen;
    return stories;
}
