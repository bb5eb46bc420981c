/*
 * device.c - descriptions of implements.
 *
 * The first byte is the version that was told, the second says in how many transfers the
 * rest came, and whether more should have come.
 */
#include <math.h>
#include <string.h>

#include "drawbar/device.h"
#include "fuzz/target.h"
#include "fuzz/texts.h"

#define HEAD 2u
#define PARTS_MAX 4u

static void text_must_hold(const char *text)
{
    MUST_NOT(text_flaw(text, strlen(text), TEXT_ANY));
}

static void values_must_hold(const struct dbr_device *d, const struct dbr_device_object *object)
{
    static const int32_t raws[] = {0, 1, -1, INT32_MAX, INT32_MIN};

    for (size_t i = 0; i < sizeof raws / sizeof raws[0]; i++) {
        struct dbr_presented shown = dbr_device_present(d, object, raws[i]);
        MUST(shown.decimals <= 9 && !isnan(shown.value));
        text_must_hold(shown.unit);
    }
}

static void object_must_hold(const struct dbr_device *d, const struct dbr_device_object *object)
{
    const struct dbr_device_object *found = dbr_device_object(d, object->id);

    MUST(object->kind < DBR_OBJECT_KINDS && object->offset < d->read);
    MUST(object->id == DBR_OBJECT_NONE ? found == NULL : found != NULL && found->id == object->id);
    text_must_hold(object->text);
    if (object->kind == DBR_OBJECT_ELEMENT) {
        double width = dbr_device_width_m(d, object);
        MUST(isnan(width) || width >= 0);
        for (size_t i = 0; i < object->reference_count; i++)
            (void)dbr_device_object(d, object->references[i]);
        found = dbr_device_element(d, object->number);
        MUST(found != NULL && found->number == object->number);
        found = dbr_device_data(d, object, DBR_OBJECT_NONE);
        MUST(found == NULL || found->ddi == DBR_OBJECT_NONE);
    }
    if (object->kind == DBR_OBJECT_PROCESS_DATA || object->kind == DBR_OBJECT_PROPERTY)
        values_must_hold(d, object);
}

static void labels_must_hold(const struct dbr_device *d)
{
    char text[128];

    text_must_hold(dbr_label_text(text, sizeof text, d->structure_label, DBR_LABEL_BYTES));
    text_must_hold(dbr_label_text(text, sizeof text, d->localization_label, DBR_LABEL_BYTES));
    MUST(d->extended_label_length <= DBR_EXTENDED_LABEL_MAX);
    text_must_hold(
        dbr_label_text(text, sizeof text, d->extended_label, d->extended_label_length));
}

static void problems_must_hold(const struct dbr_device *d)
{
    char text[256];

    MUST(d->problem_count <= DBR_POOL_PROBLEMS_MAX);
    MUST(d->problems_beyond == 0 || d->problem_count == DBR_POOL_PROBLEMS_MAX);
    for (size_t i = 0; i < d->problem_count; i++) {
        MUST(d->problems[i].kind < DBR_POOL_PROBLEM_KINDS);
        MUST(!d->problems[i].placed || d->problems[i].offset <= d->length);
        dbr_pool_problem_text(text, sizeof text, &d->problems[i]);
        MUST(text[0] != '\0');
        MUST_NOT(text_flaw(text, strlen(text), TEXT_LINE));
    }
}

static void device_must_hold(const struct dbr_device *d, size_t length)
{
    MUST(d->length == length && d->read <= length);
    MUST(!d->complete || (d->read == length && d->described));
    MUST(d->object_count <= DBR_POOL_OBJECTS_MAX);
    text_must_hold(d->designator);
    text_must_hold(d->software);
    text_must_hold(d->serial);
    labels_must_hold(d);
    problems_must_hold(d);
    for (size_t i = 0; i < d->object_count; i++)
        object_must_hold(d, &d->objects[i]);
}

/* What may replace a text is a part of the input. */
static void renaming_must_hold(struct dbr_device *d, const uint8_t *pool, size_t length)
{
    for (size_t i = 0; i < d->object_count && i < 4; i++) {
        uint16_t id = d->objects[i].id;
        size_t at = length * i / 4;
        if (dbr_device_rename(d, id, pool + at, length - at < 200 ? length - at : 200))
            text_must_hold(dbr_device_object(d, id)->text);
    }
    MUST(!dbr_device_rename(d, DBR_OBJECT_NONE, pool, 0));
}

static void device_run(const uint8_t *data, size_t size)
{
    size_t starts[PARTS_MAX];

    if (size < HEAD)
        return;
    const uint8_t *pool = data + HEAD;
    size_t length = size - HEAD;
    struct dbr_pool_layout layout = {.version = data[0] ? data[0] : DBR_VERSION_UNKNOWN,
                                     .part_count = 1 + data[1] % PARTS_MAX,
                                     .part_starts = starts,
                                     .broke_off = data[1] & 0x80};
    for (size_t i = 0; i < layout.part_count; i++)
        starts[i] = length * i / layout.part_count;
    struct dbr_device *device = dbr_device_parse(pool, length, &layout);
    MUST(device != NULL);
    device_must_hold(device, length);
    renaming_must_hold(device, pool, length);
    device_must_hold(device, length);
    dbr_device_free(device);
}

const struct fuzz_target device_target = {.name = "device", .size_max = 2048, .run = device_run};
