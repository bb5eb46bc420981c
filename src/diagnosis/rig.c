/* rig.c - see drawbar/rig.h. */
#include "drawbar/rig.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/json_read.h"
#include "decoding/load_when.h"
#include "decoding/whole_file.h"
#include "diagnosis/arithmetic.h"

#define SCHEMA "drawbar-rig/1"

/* The document stays in memory as cJSON has it: the rig's texts point into it. */
struct rig {
    struct dbr_rig seen; /* first: the public pointer is this struct */
    struct json_reader reader;
};

static bool read_name(struct json_reader *r, const cJSON *o, struct dbr_rig_ecu *ecu)
{
    const char *text = NULL;

    if (!json_string(r, o, "name", JSON_OPTIONAL, &text))
        return false;
    if (!text)
        return true;
    ecu->name = strtoull(text, NULL, 16);
    ecu->named = true;
    if (strspn(text, "0123456789ABCDEFabcdef") == 16 && text[16] == '\0')
        return true;
    return json_fail(r, cJSON_GetObjectItemCaseSensitive(o, "name"),
                     "a NAME has 16 hexadecimal digits");
}

static bool read_ecu(struct json_reader *r, const cJSON *o, struct dbr_rig_ecu *ecu)
{
    static const char *const keys[] = {
        "label",        "name",     "optional",          "note",
        "address",      "manufacturer_code", "function", "device_class", "industry_group",
        "identity",     "ecu_instance", "function_instance", "device_class_instance", NULL};

    if (!json_check_object(r, o, keys) ||
        !json_string(r, o, "label", JSON_REQUIRED, &ecu->label) || !read_name(r, o, ecu) ||
        !when_read(r, o, &ecu->when) || !json_flag(r, o, "optional", &ecu->optional))
        return false;
    if (ecu->named || ecu->when.address >= 0 || dbr_when_name_conditions(&ecu->when) > 0)
        return true;
    return json_fail(r, o, "how is it known: by name, by fields of its NAME, or by address?");
}

static bool read_section(struct json_reader *r, const cJSON *o, struct dbr_rig *rig)
{
    static const char *const keys[] = {"name", "ecus", "note", NULL};
    const cJSON *list = NULL, *node;

    if (!json_check_object(r, o, keys) ||
        !json_string(r, o, "name", JSON_REQUIRED, &rig->sections[rig->section_count]) ||
        !json_array(r, o, "ecus", JSON_REQUIRED, &list))
        return false;
    cJSON_ArrayForEach(node, list)
    {
        if (rig->ecu_count == DBR_RIG_ECUS_MAX)
            return json_fail(r, node, "more than %u ECUs", DBR_RIG_ECUS_MAX);
        struct dbr_rig_ecu *ecu = &rig->ecus[rig->ecu_count];
        ecu->section = rig->section_count;
        if (!read_ecu(r, node, ecu))
            return false;
        rig->ecu_count++;
    }
    rig->section_count++;
    return true;
}

static bool read_sections(struct json_reader *r, const cJSON *root, struct dbr_rig *rig)
{
    const cJSON *list = NULL, *node;

    if (!json_array(r, root, "sections", JSON_REQUIRED, &list))
        return false;
    cJSON_ArrayForEach(node, list)
    {
        if (rig->section_count == DBR_RIG_SECTIONS_MAX)
            return json_fail(r, node, "more than %u sections", DBR_RIG_SECTIONS_MAX);
        if (!read_section(r, node, rig))
            return false;
    }
    return true;
}

static bool read_recorder(struct json_reader *r, const cJSON *root, struct dbr_rig *rig)
{
    const char *name = NULL;

    rig->recorder_in = -1;
    if (!json_string(r, root, "recorder_in", JSON_OPTIONAL, &name))
        return false;
    for (size_t i = 0; name && i < rig->section_count; i++)
        if (strcmp(name, rig->sections[i]) == 0)
            rig->recorder_in = (int)i;
    if (!name || rig->recorder_in >= 0)
        return true;
    return json_fail(r, cJSON_GetObjectItemCaseSensitive(root, "recorder_in"),
                     "no section has the name \"%.60s\"", name);
}

static bool read_speed_kind(struct json_reader *r, const cJSON *node, struct dbr_rig *rig)
{
    for (int kind = 0; cJSON_IsString(node) && kind < DBR_SPEED_KINDS; kind++)
        if (strcmp(node->valuestring, dbr_speed_kind_name((enum dbr_speed_kind)kind)) == 0) {
            rig->speed_kinds |= 1u << kind;
            return true;
        }
    return json_fail(r, node, "a kind of speed source: wheel, ground, selected, vehicle, "
                              "navigation, gnss or implement");
}

static bool read_expects(struct json_reader *r, const cJSON *root, struct dbr_rig *rig)
{
    static const char *const keys[] = {"speed", NULL};
    const cJSON *o = cJSON_GetObjectItemCaseSensitive(root, "expects"), *list = NULL, *node;

    if (!o)
        return true;
    if (!json_check_object(r, o, keys) || !json_array(r, o, "speed", JSON_OPTIONAL, &list))
        return false;
    cJSON_ArrayForEach(node, list)
    {
        if (!read_speed_kind(r, node, rig))
            return false;
    }
    return true;
}

static bool above_zero(struct json_reader *r, const cJSON *o, const char *key, double value)
{
    if (isnan(value) || value > 0)
        return true;
    return json_fail(r, cJSON_GetObjectItemCaseSensitive(o, key), "\"%s\" must be above 0", key);
}

static bool read_product(struct json_reader *r, const cJSON *o, struct dbr_rig_product *product)
{
    static const char *const keys[] = {"label", "mass_per_revolution_kg", NULL};

    product->mass_per_revolution_kg = (double)NAN;
    return json_check_object(r, o, keys) &&
           json_string(r, o, "label", JSON_REQUIRED, &product->label) &&
           json_number(r, o, "mass_per_revolution_kg", &product->mass_per_revolution_kg) &&
           above_zero(r, o, "mass_per_revolution_kg", product->mass_per_revolution_kg);
}

static bool read_implement(struct json_reader *r, const cJSON *root, struct dbr_rig *rig)
{
    static const char *const keys[] = {"working_width_m", "products", NULL};
    const cJSON *o = cJSON_GetObjectItemCaseSensitive(root, "implement"), *list = NULL, *node;

    rig->working_width_m = (double)NAN;
    if (!o)
        return true;
    if (!json_check_object(r, o, keys) ||
        !json_number(r, o, "working_width_m", &rig->working_width_m) ||
        !above_zero(r, o, "working_width_m", rig->working_width_m) ||
        !json_array(r, o, "products", JSON_OPTIONAL, &list))
        return false;
    cJSON_ArrayForEach(node, list)
    {
        if (rig->product_count == DBR_RIG_PRODUCTS_MAX)
            return json_fail(r, node, "more than %u products", DBR_RIG_PRODUCTS_MAX);
        if (!read_product(r, node, &rig->products[rig->product_count]))
            return false;
        rig->product_count++;
    }
    return true;
}

static bool read_rig(struct json_reader *r, struct dbr_rig *rig)
{
    static const char *const keys[] = {"schema",  "name",      "recorder_in", "sections",
                                       "expects", "implement", "note",        NULL};
    const char *schema = NULL;

    if (!json_open(r) || !json_check_object(r, r->root, keys) ||
        !json_string(r, r->root, "schema", JSON_REQUIRED, &schema) ||
        !json_string(r, r->root, "name", JSON_REQUIRED, &rig->name))
        return false;
    if (strcmp(schema, SCHEMA) != 0)
        return json_fail(r, cJSON_GetObjectItemCaseSensitive(r->root, "schema"),
                         "the schema must be \"" SCHEMA "\"");
    return read_sections(r, r->root, rig) && read_recorder(r, r->root, rig) &&
           read_expects(r, r->root, rig) && read_implement(r, r->root, rig);
}

struct dbr_rig *dbr_rig_load(const char *path, struct dbr_error *error)
{
    size_t length;
    char *text = whole_file(path, &length, error);
    struct rig *rig = text ? calloc(1, sizeof *rig) : NULL;

    if (!rig) {
        if (text)
            dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        free(text);
        return NULL;
    }
    rig->reader = (struct json_reader){.json = {path, text, length}, .error = error};
    bool loaded = read_rig(&rig->reader, &rig->seen);
    free(text);
    if (loaded)
        return &rig->seen;
    dbr_rig_free(&rig->seen);
    return NULL;
}

void dbr_rig_free(struct dbr_rig *seen)
{
    struct rig *rig = (struct rig *)seen;

    if (!rig)
        return;
    json_close(&rig->reader);
    free(rig);
}

/* How well an address under a NAME fits an entry: 0 not at all; a whole NAME beats fields,
 * fields an address. */
static unsigned fit_name(const struct dbr_rig_ecu *entry, const struct dbr_ecu *ecu, uint64_t name)
{
    unsigned fields = dbr_when_name_conditions(&entry->when);

    if (entry->named && name != entry->name)
        return 0;
    if (entry->when.address >= 0 && entry->when.address != ecu->address)
        return 0;
    if (fields > 0 && !dbr_when_matches_name(&entry->when, name))
        return 0;
    return (entry->named ? 100 : 0) + 2 * fields + (entry->when.address >= 0);
}

/* An address may have had several users: the best fit of them counts. Where the recording holds
 * no claim for it, the address alone has to do. */
static unsigned fit(const struct dbr_rig_ecu *entry, const struct dbr_ecu *ecu)
{
    unsigned best = ecu->name_count == 0 && entry->when.address == ecu->address;

    for (size_t i = 0; i < ecu->name_count; i++) {
        unsigned how = fit_name(entry, ecu, ecu->names[i]);
        best = how > best ? how : best;
    }
    return best;
}

int dbr_rig_find(const struct dbr_rig *rig, const struct dbr_ecu *ecu)
{
    unsigned best_fit = 0;
    int best = -1;

    for (size_t i = 0; i < rig->ecu_count; i++) {
        unsigned how = fit(&rig->ecus[i], ecu);
        if (how > best_fit) {
            best_fit = how;
            best = (int)i;
        }
    }
    return best;
}

/* What the workshop wrote goes before what the implement describes. */
static double width_of(const struct dbr_rig *rig, const struct dbr_meter *meter)
{
    return isnan(rig->working_width_m) ? meter->width_m : rig->working_width_m;
}

double dbr_rig_expected_turns(const struct dbr_rig *rig, size_t index,
                              const struct dbr_meter *meter)
{
    double width = rig ? width_of(rig, meter) : (double)NAN;

    if (!rig || index >= rig->product_count || isnan(width))
        return (double)NAN;
    double flow = needed_flow_kg_s(meter->setpoint_kg_m2, meter->speed_mps, width);
    return needed_meter_rps(flow, rig->products[index].mass_per_revolution_kg);
}

double dbr_rig_metered_rate(const struct dbr_rig *rig, size_t index,
                            const struct dbr_meter *meter)
{
    double width = rig ? width_of(rig, meter) : (double)NAN;

    if (!rig || index >= rig->product_count || isnan(width))
        return (double)NAN;
    return rate_of_flow_kg_m2(meter->turns_per_s * rig->products[index].mass_per_revolution_kg,
                              meter->speed_mps, width);
}

bool dbr_rig_fits(const struct dbr_rig *rig, size_t index, const struct dbr_ecu *ecu)
{
    return fit(&rig->ecus[index], ecu) > 0;
}

/* A label holds no control characters: two others need escaping in a JSON string (RFC 8259). */
static void draft_string(FILE *out, const char *text)
{
    for (fputc('"', out); *text; text++) {
        if (*text == '"' || *text == '\\')
            fputc('\\', out);
        fputc(*text, out);
    }
    fputc('"', out);
}

static void draft_section(FILE *out, const struct dbr_history *h, const char *name,
                          bool implements)
{
    const char *separator = "";
    char label[DBR_LABEL_MAX];

    fprintf(out, "    {\"name\": \"%s\", \"ecus\": [", name);
    for (size_t i = 0; i < h->ecu_count; i++) {
        const struct dbr_ecu *ecu = &h->ecus[i];
        if (dbr_ecu_is_implement(ecu) != implements)
            continue;
        dbr_ecu_label(label, sizeof label, ecu);
        fprintf(out, "%s\n      {\"label\": ", separator);
        draft_string(out, label);
        fprintf(out, ", ");
        if (ecu->name_count > 0)
            fprintf(out, "\"name\": \"%016" PRIX64 "\"}", ecu->names[ecu->name_count - 1]);
        else
            fprintf(out, "\"address\": %u}", ecu->address);
        separator = ",";
    }
    fprintf(out, "]}");
}

static unsigned sound_kinds(const struct dbr_history *h)
{
    unsigned kinds = 0;

    for (size_t i = 0; i < h->source_count; i++)
        if (h->sources[i].state == DBR_SPEED_STATE_VALID)
            kinds |= 1u << h->sources[i].kind;
    return kinds;
}

int dbr_rig_draft(FILE *out, const struct dbr_history *h, struct dbr_error *error)
{
    const char *separator = "";
    unsigned kinds = sound_kinds(h);

    fprintf(out, "{\n  \"schema\": \"" SCHEMA "\",\n  \"name\": \"a first draft: name the machine, "
                 "split the sections as they hang on the cable\",\n"
                 "  \"recorder_in\": \"tractor\",\n  \"sections\": [\n");
    draft_section(out, h, "tractor", false);
    fprintf(out, ",\n");
    draft_section(out, h, "implement", true);
    fprintf(out, "\n  ],\n  \"expects\": {\"speed\": [");
    for (int kind = 0; kind < DBR_SPEED_KINDS; kind++)
        if (kinds >> kind & 1u) {
            fprintf(out, "%s\"%s\"", separator, dbr_speed_kind_name((enum dbr_speed_kind)kind));
            separator = ", ";
        }
    fprintf(out, "]}\n}\n");
    errno = 0;
    if (fflush(out) == 0 && !ferror(out))
        return 0;
    return dbr_error_set(error, DBR_ERROR_WRITE, "the rig cannot be written: %s",
                         errno ? strerror(errno) : "write error");
}
