/* json_devices.c - descriptions of implements in the JSON report. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "drawbar/ddi.h"
#include "reporting/json.h"

#define TEXT_MAX 400u

static void add_label(cJSON *object, const char *key, const uint8_t *label, size_t length)
{
    char text[2 * DBR_EXTENDED_LABEL_MAX + 3];

    json_add_text(object, key, label ? dbr_label_text(text, sizeof text, label, length) : NULL);
}

/* Of the description, else what the controller has stored, else unknown. */
static void add_labels(cJSON *object, const struct dbr_device_story *s)
{
    const struct dbr_device *d = s->description && s->description->described ? s->description : NULL;

    add_label(object, "structure_label",
              d ? d->structure_label : s->structure_told ? s->structure_label : NULL,
              DBR_LABEL_BYTES);
    add_label(object, "localization_label",
              d ? d->localization_label : s->localization_told ? s->localization_label : NULL,
              DBR_LABEL_BYTES);
    if (d && d->extended_label_length > 0)
        add_label(object, "extended_structure_label", d->extended_label, d->extended_label_length);
}

static void add_dictionary(cJSON *item, uint16_t number)
{
    const struct dbr_ddi *ddi = dbr_ddi_find(number);

    json_add_count(item, "ddi", number);
    json_add_text(item, "ddi_name", ddi ? ddi->name : NULL);
}

static void add_triggers(cJSON *item, uint8_t triggers)
{
    static const char *const names[] = {"time", "distance", "threshold", "change", "total"};
    const char *items[5];
    struct dbr_lines list = {0, items};

    for (unsigned b = 0; b < 5; b++)
        if ((unsigned)triggers >> b & 1u)
            items[list.count++] = names[b];
    json_add_lines(item, "triggers", &list);
}

static void add_process_data(cJSON *list, const struct dbr_device *d,
                             const struct dbr_device_object *data)
{
    cJSON *item = json_add_item(list);
    struct dbr_presented none = dbr_device_present(d, data, 0), one = dbr_device_present(d, data, 1);

    json_add_count(item, "object", data->id);
    add_dictionary(item, data->ddi);
    json_add_text(item, "name", data->text);
    json_add_bool(item, "default_set", data->properties & DBR_PROPERTY_DEFAULT);
    json_add_bool(item, "settable", data->properties & DBR_PROPERTY_SETTABLE);
    json_add_bool(item, "control_source", data->properties & DBR_PROPERTY_CONTROL);
    add_triggers(item, data->triggers);
    json_add_text(item, "unit", *one.unit ? one.unit : NULL);
    json_add_number(item, "per_raw", one.value - none.value, 9);
    json_add_number(item, "at_raw_zero", none.value, 9);
}

static void add_property(cJSON *list, const struct dbr_device *d,
                         const struct dbr_device_object *data)
{
    cJSON *item = json_add_item(list);
    struct dbr_presented shown = dbr_device_present(d, data, data->value);

    json_add_count(item, "object", data->id);
    add_dictionary(item, data->ddi);
    json_add_text(item, "name", data->text);
    json_add_number(item, "raw", data->value, 0);
    json_add_number(item, "value", shown.value, shown.decimals);
    json_add_text(item, "unit", *shown.unit ? shown.unit : NULL);
}

static void add_type(cJSON *item, uint8_t type)
{
    char text[16];
    const char *words = dbr_element_type_words(type);

    snprintf(text, sizeof text, "type %u", type);
    json_add_text(item, "type", words ? words : text);
}

static void add_element(cJSON *list, const struct dbr_device *d,
                        const struct dbr_device_object *element)
{
    cJSON *item = json_add_item(list);
    const struct dbr_device_object *parent = dbr_device_object(d, element->parent);
    bool under_element = parent && parent->kind == DBR_OBJECT_ELEMENT && !element->loose;

    json_add_count(item, "object", element->id);
    json_add_count(item, "number", element->number);
    add_type(item, element->type);
    json_add_text(item, "name", element->text);
    json_add_number(item, "parent", under_element ? parent->number : (double)NAN, 0);
    json_add_number(item, "working_width_m", dbr_device_width_m(d, element), 3);
    cJSON *process_data = json_add_list(item, "process_data");
    cJSON *properties = json_add_list(item, "properties");
    for (size_t i = 0; i < element->reference_count; i++) {
        const struct dbr_device_object *o = dbr_device_object(d, element->references[i]);
        if (o && o->kind == DBR_OBJECT_PROCESS_DATA)
            add_process_data(process_data, d, o);
        else if (o && o->kind == DBR_OBJECT_PROPERTY)
            add_property(properties, d, o);
    }
}

static void add_problems(cJSON *item, const struct dbr_device_story *s)
{
    char text[TEXT_MAX];
    const struct dbr_device *d = s->description;

    json_add_text(item, "problem", dbr_device_story_problem(text, sizeof text, s));
    cJSON *list = json_add_list(item, "problems");
    for (size_t i = 0; d && i < d->problem_count; i++)
        json_add_string(list, dbr_pool_problem_text(text, sizeof text, &d->problems[i]));
    json_add_count(item, "problems_folded", d ? d->problems_beyond : 0);
}

static void add_refusals(cJSON *item, const struct dbr_history *h,
                         const struct dbr_device_story *s)
{
    char text[TEXT_MAX];
    cJSON *list = json_add_list(item, "refused");

    for (size_t i = 0; i < s->refusal_count; i++) {
        const struct dbr_device_refusal *r = &s->refusals[i];
        cJSON *refusal = json_add_item(list);
        json_add_time(refusal, "at", r->at_ns, h->timed);
        json_add_text(refusal, "reason", dbr_device_refusal_text(text, sizeof text, r));
        json_add_number(refusal, "object", r->object == DBR_OBJECT_NONE ? (double)NAN : r->object,
                        0);
        json_add_number(refusal, "parent", r->parent == DBR_OBJECT_NONE ? (double)NAN : r->parent,
                        0);
    }
    json_add_count(item, "refused_folded", s->refused - s->refusal_count);
}

static void add_version(cJSON *item, const char *key, uint8_t version)
{
    json_add_number(item, key, version == DBR_VERSION_UNKNOWN ? (double)NAN : version, 0);
}

static void add_device(cJSON *list, const struct dbr_report *r, const struct dbr_device_story *s)
{
    const struct dbr_device *d = s->description;
    bool described = d && d->described;
    char name[24];
    cJSON *item = json_add_item(list);

    json_add_text(item, "interface", r->info->interfaces[s->interface]);
    json_add_count(item, "address", s->address);
    json_add_text(item, "designator", described ? d->designator : NULL);
    json_add_text(item, "software", described ? d->software : NULL);
    json_add_text(item, "serial", described ? d->serial : NULL);
    snprintf(name, sizeof name, "%016" PRIX64, described ? d->name : s->name);
    json_add_text(item, "name", described || s->named ? name : NULL);
    add_labels(item, s);
    add_version(item, "version", s->version);
    add_version(item, "controller_version", s->controller_version);
    json_add_bool(item, "activated", s->activated);
    json_add_bool(item, "complete", dbr_device_story_complete(s));
    add_problems(item, s);
    add_refusals(item, r->history, s);
    cJSON *elements = json_add_list(item, "elements");
    for (size_t i = 0; d && i < d->object_count; i++)
        if (d->objects[i].kind == DBR_OBJECT_ELEMENT)
            add_element(elements, d, &d->objects[i]);
}

void json_add_devices(cJSON *root, const struct dbr_report *r)
{
    cJSON *list = json_add_list(root, "devices");

    for (size_t i = 0; i < r->history->device_count; i++)
        add_device(list, r, &r->history->devices[i]);
}
