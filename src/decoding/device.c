/* device.c - see drawbar/device.h. Bytes to objects; layouts: ISO 11783-10 annex A. */
#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/device_own.h"
#include "reading/cursor.h"
#include "text/utf8.h"

/* Designators, ISO 11783-10: 32 bytes, 128 from version 4 on. */
#define TEXT_MAX 32u
#define TEXT_MAX_4 128u

#define IDS ((size_t)UINT16_MAX + 1)

static_assert(DBR_POOL_OBJECTS_MAX <= UINT16_MAX, "an index fits 16 bits");

struct slice {
    const uint8_t *data;
    size_t length;
};

/* One object as it stands in the bytes. */
struct raw {
    struct dbr_device_object object;
    struct slice text, software, serial, extended, references;
    uint64_t name;
    const uint8_t *labels; /* structure and localization label */
    bool version_4;
};

enum outcome { READ_OBJECT, READ_CUT, READ_UNKNOWN };

static struct slice take(struct cursor *c, size_t length)
{
    const uint8_t *data = cursor_take(c, length);
    return (struct slice){data, data ? length : 0};
}

static struct slice take_text(struct cursor *c)
{
    return take(c, cursor_u8(c));
}

/* The extended structure label of version 4, where there is one (drawbar/device.h says how that
 * is told). */
static void read_extended(struct cursor *c, uint8_t told_version, struct raw *raw)
{
    bool at_end = cursor_left(c) == 0;

    if (c->failed || (at_end && (told_version < 4 || told_version == DBR_VERSION_UNKNOWN)))
        return;
    if (!at_end && c->data[c->offset] > DBR_EXTENDED_LABEL_MAX)
        return;
    raw->version_4 = true;
    raw->extended = take_text(c);
}

static void read_device(struct cursor *c, uint8_t told_version, struct raw *raw)
{
    raw->text = take_text(c);
    raw->software = take_text(c);
    raw->name = cursor_integer(c, 8);
    raw->serial = take_text(c);
    raw->labels = cursor_take(c, 2 * DBR_LABEL_BYTES);
    read_extended(c, told_version, raw);
}

static void read_element(struct cursor *c, struct raw *raw)
{
    raw->object.type = cursor_u8(c);
    raw->text = take_text(c);
    raw->object.number = cursor_u16(c);
    raw->object.parent = cursor_u16(c);
    raw->references = take(c, (size_t)2 * cursor_u16(c));
}

static void read_process_data(struct cursor *c, struct raw *raw)
{
    raw->object.ddi = cursor_u16(c);
    raw->object.properties = cursor_u8(c);
    raw->object.triggers = cursor_u8(c);
    raw->text = take_text(c);
    raw->object.presentation = cursor_u16(c);
}

static void read_property(struct cursor *c, struct raw *raw)
{
    raw->object.ddi = cursor_u16(c);
    raw->object.value = (int32_t)cursor_u32(c);
    raw->text = take_text(c);
    raw->object.presentation = cursor_u16(c);
}

static void read_presentation(struct cursor *c, struct raw *raw)
{
    raw->object.add = (int32_t)cursor_u32(c);
    uint32_t bits = cursor_u32(c);
    memcpy(&raw->object.scale, &bits, sizeof bits); /* IEEE 754 single, as our float is */
    raw->object.decimals = cursor_u8(c);
    raw->text = take_text(c);
}

/* The kind of the object whose tag begins with these bytes; DBR_OBJECT_KINDS: none. */
static enum dbr_object_kind kind_of(const uint8_t *tag, size_t length)
{
    for (int k = 0; k < DBR_OBJECT_KINDS; k++)
        if (memcmp(dbr_object_tag((enum dbr_object_kind)k), tag, length < 3 ? length : 3) == 0)
            return (enum dbr_object_kind)k;
    return DBR_OBJECT_KINDS;
}

/* The next object; the cursor stays before one that is not whole. */
static enum outcome read_object(struct cursor *at, uint8_t told_version, struct raw *raw)
{
    struct cursor c = *at;
    enum dbr_object_kind kind = kind_of(c.data + c.offset, cursor_left(&c));

    *raw = (struct raw){.object = {.kind = kind,
                                   .id = DBR_OBJECT_NONE,
                                   .offset = c.offset,
                                   .presentation = DBR_OBJECT_NONE}};
    if (kind == DBR_OBJECT_KINDS)
        return READ_UNKNOWN;
    cursor_take(&c, 3);
    uint16_t id = cursor_u16(&c);
    if (!c.failed)
        raw->object.id = id;
    if (kind == DBR_OBJECT_DEVICE)
        read_device(&c, told_version, raw);
    else if (kind == DBR_OBJECT_ELEMENT)
        read_element(&c, raw);
    else if (kind == DBR_OBJECT_PROCESS_DATA)
        read_process_data(&c, raw);
    else if (kind == DBR_OBJECT_PROPERTY)
        read_property(&c, raw);
    else
        read_presentation(&c, raw);
    if (c.failed)
        return READ_CUT;
    *at = c;
    return READ_OBJECT;
}

void device_problem(struct dbr_device *d, const struct dbr_pool_problem *problem)
{
    if (d->problem_count == DBR_POOL_PROBLEMS_MAX)
        d->problems_beyond++;
    else
        d->problems[d->problem_count++] = *problem;
}

void device_problem_of(struct dbr_device *d, enum dbr_pool_problem_kind kind,
                       const struct dbr_device_object *object, uint16_t other)
{
    struct dbr_pool_problem problem = {.kind = kind,
                                       .placed = true,
                                       .offset = object->offset,
                                       .object = object->id,
                                       .other = other};

    memcpy(problem.tag, dbr_object_tag(object->kind), sizeof problem.tag);
    device_problem(d, &problem);
}

/* How much memory the objects need: a first walk over them. */
struct measure {
    size_t objects, text_bytes, references;
};

static size_t room_of(struct slice text)
{
    return utf8_repair(NULL, text.data, text.length, NULL) + 1;
}

static struct measure measure(struct cursor c, uint8_t told_version)
{
    struct measure m = {0};
    struct raw raw;

    while (cursor_left(&c) > 0 && m.objects < DBR_POOL_OBJECTS_MAX &&
           read_object(&c, told_version, &raw) == READ_OBJECT &&
           m.references + raw.references.length / 2 <= DBR_POOL_REFERENCES_MAX) {
        m.objects++;
        m.text_bytes += room_of(raw.text) + room_of(raw.software) + room_of(raw.serial);
        m.references += raw.references.length / 2;
    }
    return m;
}

/* What the second walk keeps in mind. */
struct filling {
    struct dbr_device *device;
    const struct dbr_pool_layout *layout;
    uint16_t *slots; /* by id: 1 + index of its object; 0: none yet */
};

/* Number of the transfer that an offset came in. */
static size_t part_of(const struct dbr_pool_layout *layout, size_t offset)
{
    size_t part = 0;

    while (part + 1 < layout->part_count && layout->part_starts[part + 1] <= offset)
        part++;
    return part;
}

static const char *keep_text(struct dbr_device_own *own, struct slice text, size_t *bad)
{
    char *out = own->texts + own->texts_used;
    size_t used = utf8_repair(out, text.data, text.length, bad);

    out[used] = '\0';
    own->texts_used += used + 1;
    return out;
}

static void keep_references(struct dbr_device_own *own, struct dbr_device_object *object,
                            struct slice references)
{
    struct cursor c = cursor_over(references.data, references.length, false);
    uint16_t *out = own->references + own->references_used;

    object->references = out;
    object->reference_count = references.length / 2;
    for (size_t i = 0; i < object->reference_count; i++)
        out[i] = cursor_u16(&c);
    own->references_used += object->reference_count;
}

static void keep_device(struct dbr_device *d, const struct raw *raw,
                        const struct dbr_device_object *object, size_t *bad)
{
    d->described = true;
    d->designator = object->text;
    d->software = keep_text(d->own, raw->software, bad);
    d->serial = keep_text(d->own, raw->serial, bad);
    d->name = raw->name;
    memcpy(d->structure_label, raw->labels, DBR_LABEL_BYTES);
    memcpy(d->localization_label, raw->labels + DBR_LABEL_BYTES, DBR_LABEL_BYTES);
    d->version_4 = raw->version_4;
    d->extended_label_length = (uint8_t)raw->extended.length;
    if (raw->extended.length > 0)
        memcpy(d->extended_label, raw->extended.data, raw->extended.length);
}

/* The place of an object among the others; NULL: it does not count. */
static struct dbr_device_object *place(struct filling *f, const struct dbr_device_object *object)
{
    struct dbr_device *d = f->device;
    uint16_t *slot = &f->slots[object->id];
    const struct dbr_device_object *before = *slot ? &d->own->objects[*slot - 1] : NULL;
    bool replaces = before && part_of(f->layout, before->offset) < part_of(f->layout, object->offset);

    if (before && !replaces) {
        device_problem_of(d, DBR_POOL_DUPLICATE, object, DBR_OBJECT_NONE);
        return NULL;
    }
    if (object->kind == DBR_OBJECT_DEVICE && d->described &&
        !(before && before->kind == DBR_OBJECT_DEVICE)) {
        device_problem_of(d, DBR_POOL_SECOND_DEVICE, object, DBR_OBJECT_NONE);
        return NULL;
    }
    if (!before)
        *slot = (uint16_t)++d->object_count;
    return &d->own->objects[*slot - 1];
}

static void keep(struct filling *f, const struct raw *raw)
{
    struct dbr_device *d = f->device;
    struct dbr_device_object *object = place(f, &raw->object);
    size_t bad = 0, longest = raw->text.length;

    if (!object)
        return;
    *object = raw->object;
    object->text = keep_text(d->own, raw->text, &bad);
    keep_references(d->own, object, raw->references);
    if (object->kind == DBR_OBJECT_DEVICE) {
        keep_device(d, raw, object, &bad);
        longest = raw->software.length > longest ? raw->software.length : longest;
        longest = raw->serial.length > longest ? raw->serial.length : longest;
    }
    if (object->id == DBR_OBJECT_NONE)
        device_problem_of(d, DBR_POOL_ID_NONE, object, DBR_OBJECT_NONE);
    if (longest > (d->version_4 ? TEXT_MAX_4 : TEXT_MAX))
        device_problem_of(d, DBR_POOL_TEXT_LONG, object, DBR_OBJECT_NONE);
    if (bad > 0)
        device_problem_of(d, DBR_POOL_TEXT_BYTES, object, DBR_OBJECT_NONE);
}

static void stop(struct dbr_device *d, enum dbr_pool_problem_kind kind, const struct cursor *c,
                 uint16_t id)
{
    struct dbr_pool_problem problem = {.kind = kind,
                                       .placed = true,
                                       .offset = c->offset,
                                       .object = id,
                                       .other = DBR_OBJECT_NONE};
    size_t left = cursor_left(c);

    memcpy(problem.tag, c->data + c->offset, left < 3 ? left : 3);
    device_problem(d, &problem);
}

/* The second walk. */
static void fill(struct filling *f, struct cursor c, size_t count)
{
    struct dbr_device *d = f->device;
    struct raw raw;

    for (size_t i = 0; i < count; i++) {
        read_object(&c, f->layout->version, &raw);
        keep(f, &raw);
    }
    d->read = c.offset;
    if (cursor_left(&c) == 0)
        return;
    struct cursor beyond = c;
    enum outcome outcome = read_object(&beyond, f->layout->version, &raw);
    stop(d, outcome == READ_CUT       ? DBR_POOL_CUT
            : outcome == READ_UNKNOWN ? DBR_POOL_UNKNOWN_TAG
                                      : DBR_POOL_TOO_MANY,
         &c, outcome == READ_CUT ? raw.object.id : (uint16_t)DBR_OBJECT_NONE);
}

static int by_id(const void *a, const void *b)
{
    const struct id_index *x = a, *y = b;
    return (x->id > y->id) - (x->id < y->id);
}

static void sort_ids(struct dbr_device *d)
{
    for (size_t i = 0; i < d->object_count; i++)
        d->own->by_id[i] = (struct id_index){d->own->objects[i].id, (uint16_t)i};
    qsort(d->own->by_id, d->object_count, sizeof *d->own->by_id, by_id);
}

/* Never of size 0, for which calloc may say NULL. */
static void *room(size_t count, size_t size)
{
    return calloc(count + 1, size);
}

static bool make_room(struct dbr_device *d, const struct measure *m)
{
    d->own = calloc(1, sizeof *d->own);
    if (!d->own)
        return false;
    d->own->objects = room(m->objects, sizeof *d->own->objects);
    d->own->by_id = room(m->objects, sizeof *d->own->by_id);
    d->own->texts = room(m->text_bytes, 1);
    d->own->references = room(m->references, sizeof *d->own->references);
    d->objects = d->own->objects;
    return d->own->objects && d->own->by_id && d->own->texts && d->own->references;
}

static bool parse(struct dbr_device *d, const uint8_t *data, const struct dbr_pool_layout *layout)
{
    struct cursor c = cursor_over(data, d->length, false);
    struct measure m = measure(c, layout->version);
    struct filling f = {.device = d, .layout = layout, .slots = calloc(IDS, sizeof *f.slots)};
    bool made = f.slots && make_room(d, &m);

    if (made)
        fill(&f, c, m.objects);
    free(f.slots);
    if (!made)
        return false;
    sort_ids(d);
    if (!d->described)
        device_problem(d, &(struct dbr_pool_problem){.kind = DBR_POOL_NO_DEVICE,
                                                     .object = DBR_OBJECT_NONE,
                                                     .other = DBR_OBJECT_NONE});
    bool rest_unknown = d->read < d->length || layout->broke_off;
    d->complete = d->described && !rest_unknown;
    return device_check(d, rest_unknown);
}

struct dbr_device *dbr_device_parse(const uint8_t *data, size_t length,
                                    const struct dbr_pool_layout *layout)
{
    struct dbr_device *d = calloc(1, sizeof *d);

    if (!d)
        return NULL;
    d->designator = d->software = d->serial = "";
    d->length = length;
    if (parse(d, data, layout))
        return d;
    dbr_device_free(d);
    return NULL;
}
