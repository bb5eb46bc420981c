/* text_devices.c - what implements described of themselves, as a tree for the terminal. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/ddi.h"
#include "reporting/layout.h"
#include "reporting/reports.h"

#define TEXT_MAX 400u
#define LINE_MAX 2400u    /* what its parts have room for, and a unit of 255 bytes grown threefold */
#define INDENT 2u
#define INDENT_MAX 24u    /* deeper elements stand where this one does */

struct tree {
    struct layout l;
    const struct dbr_device *device;
    bool told[DBR_POOL_PROBLEMS_MAX]; /* problems that stand at their place */
};

/* Problems that end the reading, or are about an object that does not count, have no place. */
static bool has_place(const struct dbr_pool_problem *p)
{
    return p->placed && p->kind != DBR_POOL_CUT && p->kind != DBR_POOL_UNKNOWN_TAG &&
           p->kind != DBR_POOL_TOO_MANY && p->kind != DBR_POOL_DUPLICATE &&
           p->kind != DBR_POOL_SECOND_DEVICE;
}

static void write_problem(const struct tree *t, unsigned indent, const struct dbr_pool_problem *p)
{
    char text[TEXT_MAX], first[INDENT_MAX + 2 * INDENT + 3];

    snprintf(first, sizeof first, "%*s! ", (int)indent, "");
    layout_paragraph(&t->l, INK_WARNING, first, dbr_pool_problem_text(text, sizeof text, p));
}

static void problems_of(struct tree *t, unsigned indent, uint16_t id)
{
    for (size_t i = 0; i < t->device->problem_count; i++) {
        const struct dbr_pool_problem *p = &t->device->problems[i];
        if (!has_place(p) || p->object != id)
            continue;
        write_problem(t, indent, p);
        t->told[i] = true;
    }
}

static void problems_left(const struct tree *t)
{
    for (size_t i = 0; i < t->device->problem_count; i++)
        if (!t->told[i])
            write_problem(t, INDENT, &t->device->problems[i]);
    if (t->device->problems_beyond > 0)
        layout_line(&t->l, "  ! and %" PRIu64 " more", t->device->problems_beyond);
}

/* "DDI 7 actual mass per area application rate". */
static void ddi_words(char *out, size_t size, uint16_t number)
{
    const struct dbr_ddi *ddi = dbr_ddi_find(number);

    snprintf(out, size, "DDI %u %s", number,
             ddi                              ? ddi->name
             : dbr_ddi_is_proprietary(number) ? "(the maker's own)"
                                              : "(unknown)");
}

static void add(char *out, size_t size, const char *word)
{
    size_t used = strlen(out);

    snprintf(out + used, size - used, "%s%s", used > 0 ? ", " : "", word);
}

/* What a controller may do with it, and when it is sent. */
static void abilities(char *out, size_t size, const struct dbr_device_object *data)
{
    static const char *const properties[] = {"default set", "settable", "control source"};
    static const char *const triggers[] = {"by time", "by distance", "by threshold", "on change",
                                           "total"};

    out[0] = '\0';
    for (unsigned b = 0; b < 3; b++)
        if ((unsigned)data->properties >> b & 1u)
            add(out, size, properties[b]);
    for (unsigned b = 0; b < 5; b++)
        if ((unsigned)data->triggers >> b & 1u)
            add(out, size, triggers[b]);
}

static void write_data(struct tree *t, unsigned indent, const struct dbr_device_object *data)
{
    char words[TEXT_MAX], name[TEXT_MAX * 2] = "", can[TEXT_MAX], line[LINE_MAX];

    ddi_words(words, sizeof words, data->ddi);
    if (*data->text)
        snprintf(name, sizeof name, " \"%s\"", data->text);
    struct dbr_presented shown = dbr_device_present(t->device, data, data->value);
    if (data->kind == DBR_OBJECT_PROPERTY) {
        snprintf(line, sizeof line, "%s%s = %.*f%s%s", words, name, (int)shown.decimals,
                 shown.value, *shown.unit ? " " : "", shown.unit);
    } else {
        abilities(can, sizeof can, data);
        snprintf(line, sizeof line, "%s%s%s%s%s%s%s%s", words, name, *shown.unit ? " [" : "",
                 shown.unit, *shown.unit ? "]" : "", *can ? " (" : "", can, *can ? ")" : "");
    }
    layout_line(&t->l, "%*s%s", (int)indent, "", line);
    problems_of(t, indent + INDENT, data->id);
    if (data->presentation != DBR_OBJECT_NONE)
        problems_of(t, indent + INDENT, data->presentation);
}

static void write_element(struct tree *t, unsigned indent, const struct dbr_device_object *element)
{
    const struct dbr_device *d = t->device;
    const char *type = dbr_element_type_words(element->type);
    char unknown[16];

    snprintf(unknown, sizeof unknown, "type %u", element->type);
    layout_line(&t->l, "%*selement %u, %s \"%s\"", (int)indent, "", element->number,
                type ? type : unknown, element->text);
    problems_of(t, indent + 2 * INDENT, element->id);
    for (size_t i = 0; i < element->reference_count; i++) {
        const struct dbr_device_object *o = dbr_device_object(d, element->references[i]);
        if (o && (o->kind == DBR_OBJECT_PROCESS_DATA || o->kind == DBR_OBJECT_PROPERTY))
            write_data(t, indent + 2 * INDENT, o);
    }
}

/* Elements with a sound way up to the device: parents before children, in the order of objects.
 * As deep as the description is, which has at most DBR_POOL_OBJECTS_MAX objects. */
static void write_children(struct tree *t, uint16_t parent, unsigned indent)
{
    const struct dbr_device *d = t->device;
    unsigned deeper = indent < INDENT_MAX ? indent + INDENT : indent;

    for (size_t i = 0; i < d->object_count; i++) {
        const struct dbr_device_object *o = &d->objects[i];
        if (o->kind != DBR_OBJECT_ELEMENT || o->loose || o->parent != parent)
            continue;
        write_element(t, indent, o);
        write_children(t, o->id, deeper);
    }
}

static void write_loose(struct tree *t)
{
    bool any = false;

    for (size_t i = 0; i < t->device->object_count; i++) {
        const struct dbr_device_object *o = &t->device->objects[i];
        if (o->kind != DBR_OBJECT_ELEMENT || !o->loose)
            continue;
        if (!any)
            layout_line(&t->l, "  under no element that is there:");
        any = true;
        write_element(t, 2 * INDENT, o);
    }
}

static bool is_listed(const struct dbr_device *d, uint16_t id)
{
    for (size_t i = 0; i < d->object_count; i++)
        for (size_t k = 0; k < d->objects[i].reference_count; k++)
            if (d->objects[i].references[k] == id)
                return true;
    return false;
}

static void write_unlisted(struct tree *t)
{
    bool any = false;

    for (size_t i = 0; i < t->device->object_count; i++) {
        const struct dbr_device_object *o = &t->device->objects[i];
        bool data = o->kind == DBR_OBJECT_PROCESS_DATA || o->kind == DBR_OBJECT_PROPERTY;
        if (!data || is_listed(t->device, o->id))
            continue;
        if (!any)
            layout_line(&t->l, "  listed by no element:");
        any = true;
        write_data(t, 2 * INDENT, o);
    }
}

static uint16_t device_id(const struct dbr_device *d)
{
    for (size_t i = 0; i < d->object_count; i++)
        if (d->objects[i].kind == DBR_OBJECT_DEVICE)
            return d->objects[i].id;
    return DBR_OBJECT_NONE;
}

static void write_tree(const struct layout *l, const struct dbr_device *d)
{
    struct tree t = {.l = *l, .device = d};
    uint16_t id = device_id(d);

    problems_of(&t, INDENT, id);
    if (id != DBR_OBJECT_NONE)
        write_children(&t, id, INDENT);
    write_loose(&t);
    write_unlisted(&t);
    problems_left(&t);
}

static void write_labels(const struct layout *l, const struct dbr_device *d)
{
    char structure[2 * DBR_EXTENDED_LABEL_MAX + 3], extended[2 * DBR_EXTENDED_LABEL_MAX + 3];
    char localization[2 * DBR_LABEL_BYTES + 3];

    dbr_label_text(structure, sizeof structure, d->structure_label, DBR_LABEL_BYTES);
    dbr_label_text(localization, sizeof localization, d->localization_label, DBR_LABEL_BYTES);
    dbr_label_text(extended, sizeof extended, d->extended_label, d->extended_label_length);
    layout_line(l, "  structure label %s%s%s, localization label %s", structure,
                d->extended_label_length > 0 ? " + " : "",
                d->extended_label_length > 0 ? extended : "", localization);
}

static void write_story(const struct layout *l, const struct dbr_device_story *s)
{
    char text[TEXT_MAX];
    const char *problem = dbr_device_story_problem(text, sizeof text, s);
    bool at_its_place = s->description && !s->from_prefix && s->bytes_beyond == 0;

    if (problem && !at_its_place)
        layout_paragraph(l, INK_WARNING, "  ! the description: ", problem);
    for (size_t i = 0; i < s->refusal_count; i++) {
        const char *words = dbr_device_refusal_text(text, sizeof text, &s->refusals[i]);
        char line[TEXT_MAX + 40];
        snprintf(line, sizeof line, "at %.1f s %s", (double)s->refusals[i].at_ns / 1e9, words);
        layout_paragraph(l, INK_WARNING, "  ! ", line);
    }
    if (s->refused > s->refusal_count)
        layout_line(l, "  ! and %" PRIu64 " more refusals", s->refused - s->refusal_count);
}

static void write_device(const struct layout *l, const struct dbr_report *r,
                         const struct dbr_device_story *s)
{
    const struct dbr_device *d = s->description && s->description->described ? s->description : NULL;
    char title[TEXT_MAX * 2];

    snprintf(title, sizeof title, "%s%s%s at address %u%s%s", d ? "\"" : "Implement",
             d ? d->designator : "", d ? "\"" : "", s->address,
             r->info->interface_count > 1 ? " on " : "",
             r->info->interface_count > 1 ? r->info->interfaces[s->interface] : "");
    layout_heading(l, title);
    if (d) {
        layout_line(l, "  software \"%s\", serial number \"%s\"", d->software, d->serial);
        write_labels(l, d);
    }
    if (!d && s->structure_told) {
        char label[2 * DBR_LABEL_BYTES + 3];
        layout_line(l, "  structure label %s, as the controller has it stored",
                    dbr_label_text(label, sizeof label, s->structure_label, DBR_LABEL_BYTES));
    }
    if (d || s->named)
        layout_line(l, "  NAME %016" PRIX64, d ? d->name : s->name);
    if (d && s->named && d->name != s->name)
        layout_line(l, "  ! it claimed its address with another NAME: %016" PRIX64, s->name);
    write_story(l, s);
    if (s->description)
        write_tree(l, s->description);
}

int dbr_report_devices(FILE *out, const struct dbr_report *r, struct dbr_error *error)
{
    const struct layout l = {out, r->width, r->color};
    bool lacking = r->history->device_count == 0;

    if (lacking)
        layout_paragraph(&l, INK_PLAIN, "",
                         "No implement speaks of its description in this recording.");
    for (size_t i = 0; i < r->history->device_count; i++) {
        write_device(&l, r, &r->history->devices[i]);
        lacking = lacking || !r->history->devices[i].description;
    }
    if (lacking)
        layout_paragraph(&l, INK_PLAIN, "",
                         "An implement sends its description to a task controller once; after that "
                         "the controller has it stored, and only its label travels. To record it, "
                         "start the recording before key-on, and have the controller forget the "
                         "implement first.");
    return report_written(out, error);
}
