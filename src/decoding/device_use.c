/* device_use.c - looking things up in a device description; values and words. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/device_own.h"
#include "drawbar/ddi.h"
#include "text/utf8.h"

/* ISO 11783-11: actual and maximum working width, mm. */
#define DDI_WIDTH 67u
#define DDI_WIDTH_MAXIMUM 70u
#define M_PER_MM 0.001

/* ISO 11783-10 annex A: 0..7; more is of no use to anyone. */
#define DECIMALS_MAX 9u

static int by_id(const void *key, const void *item)
{
    uint16_t id = *(const uint16_t *)key;
    const struct id_index *index = item;
    return (id > index->id) - (id < index->id);
}

const struct dbr_device_object *dbr_device_object(const struct dbr_device *d, uint16_t id)
{
    const struct id_index *found =
        bsearch(&id, d->own->by_id, d->object_count, sizeof *d->own->by_id, by_id);
    return found && id != DBR_OBJECT_NONE ? &d->objects[found->index] : NULL;
}

const struct dbr_device_object *dbr_device_element(const struct dbr_device *d, uint16_t number)
{
    for (size_t i = 0; i < d->object_count; i++)
        if (d->objects[i].kind == DBR_OBJECT_ELEMENT && d->objects[i].number == number)
            return &d->objects[i];
    return NULL;
}

static bool is_data(const struct dbr_device_object *object)
{
    return object && (object->kind == DBR_OBJECT_PROCESS_DATA || object->kind == DBR_OBJECT_PROPERTY);
}

const struct dbr_device_object *dbr_device_data(const struct dbr_device *d,
                                                const struct dbr_device_object *element,
                                                uint16_t ddi)
{
    for (size_t i = 0; i < element->reference_count; i++) {
        const struct dbr_device_object *data = dbr_device_object(d, element->references[i]);
        if (is_data(data) && data->ddi == ddi)
            return data;
    }
    return NULL;
}

bool dbr_device_lists(const struct dbr_device *d, uint16_t first, uint16_t last)
{
    for (size_t i = 0; i < d->object_count; i++)
        if (d->objects[i].kind == DBR_OBJECT_PROCESS_DATA && d->objects[i].ddi >= first &&
            d->objects[i].ddi <= last)
            return true;
    return false;
}

static double own_width_m(const struct dbr_device *d, const struct dbr_device_object *element)
{
    static const uint16_t ddis[] = {DDI_WIDTH, DDI_WIDTH_MAXIMUM};

    for (size_t i = 0; i < sizeof ddis / sizeof ddis[0]; i++) {
        const struct dbr_device_object *data = dbr_device_data(d, element, ddis[i]);
        if (data && data->kind == DBR_OBJECT_PROPERTY && data->value > 0)
            return data->value * M_PER_MM;
    }
    return (double)NAN;
}

/* One level down suffices for a boom and its sections, and ends whatever the parents are. */
double dbr_device_width_m(const struct dbr_device *d, const struct dbr_device_object *element)
{
    double width = own_width_m(d, element), sum = 0;

    if (!isnan(width))
        return width;
    for (size_t i = 0; i < d->object_count; i++) {
        const struct dbr_device_object *child = &d->objects[i];
        if (child->kind != DBR_OBJECT_ELEMENT || child->parent != element->id || child == element)
            continue;
        width = own_width_m(d, child);
        if (!isnan(width))
            sum += width;
    }
    return sum > 0 ? sum : (double)NAN;
}

struct dbr_presented dbr_device_present(const struct dbr_device *d,
                                        const struct dbr_device_object *data, int32_t raw)
{
    const struct dbr_device_object *shown =
        data->presentation == DBR_OBJECT_NONE ? NULL : dbr_device_object(d, data->presentation);
    const struct dbr_ddi *ddi = dbr_ddi_find(data->ddi);

    if (shown && shown->kind == DBR_OBJECT_PRESENTATION && isfinite(shown->scale))
        return (struct dbr_presented){
            ((double)raw + shown->add) * (double)shown->scale,
            shown->decimals < DECIMALS_MAX ? shown->decimals : DECIMALS_MAX, shown->text};
    if (!ddi)
        return (struct dbr_presented){raw, 0, ""};
    unsigned decimals = 0;
    for (double r = ddi->resolution; r < 0.999 && decimals < DECIMALS_MAX; r *= 10)
        decimals++;
    return (struct dbr_presented){raw * ddi->resolution, decimals, ddi->unit};
}

static bool rename_object(struct dbr_device *d, size_t index, const uint8_t *text, size_t length)
{
    struct dbr_device_own *own = d->own;

    if (!own->renamed)
        own->renamed = calloc(d->object_count, sizeof *own->renamed);
    char *name = own->renamed ? malloc(utf8_repair(NULL, text, length, NULL) + 1) : NULL;
    if (!name)
        return false;
    name[utf8_repair(name, text, length, NULL)] = '\0';
    free(own->renamed[index]);
    own->renamed[index] = name;
    own->objects[index].text = name;
    if (own->objects[index].kind == DBR_OBJECT_DEVICE)
        d->designator = name;
    return true;
}

bool dbr_device_rename(struct dbr_device *d, uint16_t id, const uint8_t *text, size_t length)
{
    const struct dbr_device_object *object = dbr_device_object(d, id);

    if (!object || object->kind == DBR_OBJECT_PRESENTATION)
        return false;
    return rename_object(d, (size_t)(object - d->objects), text, length);
}

void dbr_device_free(struct dbr_device *d)
{
    if (!d)
        return;
    for (size_t i = 0; d->own && d->own->renamed && i < d->object_count; i++)
        free(d->own->renamed[i]);
    if (d->own) {
        free(d->own->renamed);
        free(d->own->objects);
        free(d->own->by_id);
        free(d->own->texts);
        free(d->own->references);
    }
    free(d->own);
    free(d);
}

const char *dbr_object_tag(enum dbr_object_kind kind)
{
    static const char *const tags[] = {"DVC", "DET", "DPD", "DPT", "DVP"};
    return (unsigned)kind < DBR_OBJECT_KINDS ? tags[kind] : "???";
}

const char *dbr_element_type_words(uint8_t type)
{
    static const char *const words[] = {NULL,   "device",    "function",            "bin", "section",
                                        "unit", "connector", "navigation reference"};
    return type < sizeof words / sizeof words[0] ? words[type] : NULL;
}

static const char *problem_words(enum dbr_pool_problem_kind kind)
{
    static const char *const words[] = {
#define WORDS(name, text) text,
        DBR_POOL_PROBLEMS(WORDS)
#undef WORDS
    };
    return words[kind];
}

/* The tag as letters where it is some, else as bytes. */
static void tag_text(char out[12], const uint8_t tag[3])
{
    bool letters = true;

    for (unsigned i = 0; i < 3; i++)
        letters = letters && tag[i] >= 'A' && tag[i] <= 'Z';
    if (letters)
        snprintf(out, 12, "%c%c%c", tag[0], tag[1], tag[2]);
    else
        snprintf(out, 12, "%02X %02X %02X", tag[0], tag[1], tag[2]);
}

const char *dbr_pool_problem_text(char *out, size_t size, const struct dbr_pool_problem *p)
{
    char tag[12], object[24] = "", other[24] = "";

    if (!p->placed) {
        snprintf(out, size, "%s", problem_words(p->kind));
        return out;
    }
    tag_text(tag, p->tag);
    if (p->object != DBR_OBJECT_NONE)
        snprintf(object, sizeof object, ", object %u", p->object);
    if (p->other != DBR_OBJECT_NONE)
        snprintf(other, sizeof other, ": %u", p->other);
    snprintf(out, size, "byte %zu (%s%s): %s%s", p->offset, tag, object, problem_words(p->kind),
             other);
    return out;
}

const char *dbr_label_text(char *out, size_t size, const uint8_t *label, size_t length)
{
    size_t used = length;
    bool letters = true;

    while (used > 0 && (label[used - 1] == 0 || label[used - 1] == 0xFF || label[used - 1] == ' '))
        used--;
    for (size_t i = 0; i < used; i++)
        letters = letters && label[i] >= 0x20 && label[i] < 0x7F;
    if (letters) {
        snprintf(out, size, "%.*s", (int)used, (const char *)label);
        return out;
    }
    used = (size_t)snprintf(out, size, "0x");
    for (size_t i = 0; i < length && used + 3 <= size; i++)
        used += (size_t)snprintf(out + used, size - used, "%02X", label[i]);
    return out;
}
