/* device_check.c - whether the objects of a device description fit together. */
#include <math.h>
#include <stdlib.h>

#include "decoding/device_own.h"

/* What the way up from an element is known to be. */
enum way { WAY_OPEN, WAY_BEING_WALKED, WAY_LEADS_UP, WAY_LOST };

static size_t index_of(const struct dbr_device *d, const struct dbr_device_object *object)
{
    return (size_t)(object - d->objects);
}

struct check {
    struct dbr_device *device;
    bool rest_unknown;
    uint8_t *ways;
};

/* Something is not there, unless it may be in what was not read. */
static void missing(const struct check *c, enum dbr_pool_problem_kind kind,
                    const struct dbr_device_object *object, uint16_t other)
{
    if (!c->rest_unknown)
        device_problem_of(c->device, kind, object, other);
}

/* Says what is wrong with the parent itself; NULL then. */
static const struct dbr_device_object *parent_of(const struct check *c,
                                                 const struct dbr_device_object *element)
{
    struct dbr_device *d = c->device;
    const struct dbr_device_object *parent = dbr_device_object(d, element->parent);

    if (!parent) {
        missing(c, DBR_POOL_PARENT_MISSING, element, element->parent);
        return NULL;
    }
    if (parent->kind != DBR_OBJECT_DEVICE && parent->kind != DBR_OBJECT_ELEMENT) {
        device_problem_of(d, DBR_POOL_PARENT_KIND, element, element->parent);
        return NULL;
    }
    return parent;
}

/* Marks the elements on a way up with what it turned out to be. */
static void settle(const struct check *c, struct dbr_device_object *from, enum way way)
{
    struct dbr_device *d = c->device;
    uint8_t *ways = c->ways;
    struct dbr_device_object *at = from;

    while (at->kind == DBR_OBJECT_ELEMENT && ways[index_of(d, at)] == WAY_BEING_WALKED) {
        ways[index_of(d, at)] = (uint8_t)way;
        at->loose = way == WAY_LOST;
        const struct dbr_device_object *parent = dbr_device_object(d, at->parent);
        if (!parent)
            return;
        at = &d->own->objects[index_of(d, parent)];
    }
}

/* Walks up until it is known whether the way leads to the device. Each element is walked once. */
static void walk_up(const struct check *c, struct dbr_device_object *from)
{
    struct dbr_device *d = c->device;
    uint8_t *ways = c->ways;
    const struct dbr_device_object *at = from;
    enum way way = WAY_LEADS_UP;

    while (at && at->kind == DBR_OBJECT_ELEMENT && ways[index_of(d, at)] == WAY_OPEN) {
        ways[index_of(d, at)] = WAY_BEING_WALKED;
        at = parent_of(c, at);
    }
    if (!at) {
        way = WAY_LOST;
    } else if (at->kind == DBR_OBJECT_ELEMENT && ways[index_of(d, at)] == WAY_BEING_WALKED) {
        device_problem_of(d, DBR_POOL_PARENT_CYCLE, at, at->parent);
        way = WAY_LOST;
    } else if (at->kind == DBR_OBJECT_ELEMENT) {
        way = (enum way)ways[index_of(d, at)];
    }
    settle(c, from, way);
}

static bool check_parents(struct check *c)
{
    struct dbr_device *d = c->device;

    c->ways = calloc(d->object_count + 1, 1);
    if (!c->ways)
        return false;
    for (size_t i = 0; i < d->object_count; i++)
        if (d->objects[i].kind == DBR_OBJECT_ELEMENT)
            walk_up(c, &d->own->objects[i]);
    free(c->ways);
    return true;
}

static void check_references(const struct check *c, const struct dbr_device_object *element)
{
    struct dbr_device *d = c->device;

    for (size_t i = 0; i < element->reference_count; i++) {
        const struct dbr_device_object *to = dbr_device_object(d, element->references[i]);
        if (!to)
            missing(c, DBR_POOL_REFERENCE_MISSING, element, element->references[i]);
        else if (to->kind != DBR_OBJECT_PROCESS_DATA && to->kind != DBR_OBJECT_PROPERTY)
            device_problem_of(d, DBR_POOL_REFERENCE_KIND, element, element->references[i]);
    }
}

static void check_presentation(const struct check *c, const struct dbr_device_object *data)
{
    if (data->presentation == DBR_OBJECT_NONE)
        return;
    const struct dbr_device_object *shown = dbr_device_object(c->device, data->presentation);
    if (!shown || shown->kind != DBR_OBJECT_PRESENTATION)
        missing(c, DBR_POOL_PRESENTATION_MISSING, data, data->presentation);
}

/* Process data name an element by its number: two of one number cannot be told apart. */
static bool check_numbers(struct dbr_device *d)
{
    bool *taken = calloc((size_t)UINT16_MAX + 1, sizeof *taken);

    if (!taken)
        return false;
    for (size_t i = 0; i < d->object_count; i++) {
        const struct dbr_device_object *o = &d->objects[i];
        if (o->kind != DBR_OBJECT_ELEMENT)
            continue;
        if (taken[o->number])
            device_problem_of(d, DBR_POOL_NUMBER_TWICE, o, DBR_OBJECT_NONE);
        taken[o->number] = true;
    }
    free(taken);
    return true;
}

bool device_check(struct dbr_device *d, bool rest_unknown)
{
    struct check c = {.device = d, .rest_unknown = rest_unknown};

    if (!check_parents(&c) || !check_numbers(d))
        return false;
    for (size_t i = 0; i < d->object_count; i++) {
        const struct dbr_device_object *o = &d->objects[i];
        if (o->kind == DBR_OBJECT_ELEMENT)
            check_references(&c, o);
        if (o->kind == DBR_OBJECT_PROCESS_DATA || o->kind == DBR_OBJECT_PROPERTY)
            check_presentation(&c, o);
        if (o->kind == DBR_OBJECT_PRESENTATION && !isfinite(o->scale))
            device_problem_of(d, DBR_POOL_SCALE, o, DBR_OBJECT_NONE);
    }
    return true;
}
