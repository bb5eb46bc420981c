/* json_identity.c - see json.h. What was not told is null. */
#include <math.h>

#include "reporting/json.h"

/* A text of one group under a key of its own. */
struct keyed {
    const char *key;
    enum dbr_told_group group;
    size_t field;
};

static void add_texts(cJSON *object, const struct dbr_identity *identity, const struct keyed *rows,
                      size_t count)
{
    for (size_t i = 0; i < count; i++)
        json_add_text(object, rows[i].key,
                      dbr_identity_text(identity, rows[i].group, rows[i].field));
}

static void add_software(cJSON *object, const struct dbr_identity *identity)
{
    const struct dbr_told *told = identity->told[DBR_TOLD_SOFTWARE];
    const char *items[DBR_TOLD_FIELDS_MAX];
    struct dbr_lines lines = {0, items};

    for (size_t i = 0; told && i < told->text_count; i++)
        items[lines.count++] = told->texts[i];
    if (told)
        json_add_lines(object, "software", &lines);
    else
        json_add_null(object, "software");
}

static void add_product(cJSON *object, const struct dbr_identity *identity)
{
    static const struct keyed rows[] = {{"code", DBR_TOLD_PRODUCT, DBR_PRODUCT_CODE},
                                        {"brand", DBR_TOLD_PRODUCT, DBR_PRODUCT_BRAND},
                                        {"model", DBR_TOLD_PRODUCT, DBR_PRODUCT_MODEL}};

    if (identity->told[DBR_TOLD_PRODUCT])
        add_texts(json_add_object(object, "product"), identity, rows,
                  sizeof rows / sizeof rows[0]);
    else
        json_add_null(object, "product");
}

static void add_information(cJSON *object, const struct dbr_identity *identity)
{
    static const struct keyed rows[] = {
        {"model", DBR_TOLD_INFORMATION, DBR_INFORMATION_MODEL},
        {"software", DBR_TOLD_INFORMATION, DBR_INFORMATION_SOFTWARE},
        {"version", DBR_TOLD_INFORMATION, DBR_INFORMATION_VERSION},
        {"serial", DBR_TOLD_INFORMATION, DBR_INFORMATION_SERIAL}};
    const struct dbr_told *told = identity->told[DBR_TOLD_INFORMATION];

    if (!told) {
        json_add_null(object, "product_information");
        return;
    }
    cJSON *information = json_add_object(object, "product_information");
    json_add_number(information, "code", told->product_code < 0 ? (double)NAN : told->product_code,
                    0);
    add_texts(information, identity, rows, sizeof rows / sizeof rows[0]);
}

/* When something was told first, and last told otherwise than before; whether texts lack their end,
 * and how many fields are not kept. */
static void add_telling(cJSON *object, const struct dbr_history *h,
                        const struct dbr_identity *identity)
{
    int64_t first_ns = -1, changed_ns = -1;
    uint64_t beyond = 0;
    bool cut = false;

    for (int g = 0; g < DBR_TOLD_GROUPS; g++) {
        const struct dbr_told *told = identity->told[g];
        if (!told)
            continue;
        first_ns = first_ns < 0 || told->first_ns < first_ns ? told->first_ns : first_ns;
        changed_ns = told->changed_ns > changed_ns ? told->changed_ns : changed_ns;
        cut = cut || told->cut;
        beyond += told->beyond;
    }
    json_add_time(object, "first", first_ns, h->timed && first_ns >= 0);
    json_add_time(object, "changed", changed_ns, h->timed && changed_ns >= 0);
    json_add_bool(object, "cut", cut);
    json_add_count(object, "fields_beyond", beyond);
}

static bool tells_texts(const struct dbr_identity *identity)
{
    if (!identity)
        return false;
    for (int g = 0; g < DBR_TOLD_GROUPS; g++)
        if (g != DBR_TOLD_FUNCTIONALITIES && identity->told[g])
            return true;
    return identity->designator[0] != '\0';
}

static void add_identification(cJSON *ecu, const struct dbr_history *h,
                               const struct dbr_identity *identity)
{
    static const struct keyed rows[] = {
        {"part_number", DBR_TOLD_ECU, DBR_ECU_PART_NUMBER},
        {"serial", DBR_TOLD_ECU, DBR_ECU_SERIAL},
        {"location", DBR_TOLD_ECU, DBR_ECU_LOCATION},
        {"type", DBR_TOLD_ECU, DBR_ECU_TYPE},
        {"maker", DBR_TOLD_ECU, DBR_ECU_MAKER},
        {"hardware", DBR_TOLD_ECU, DBR_ECU_HARDWARE},
        {"make", DBR_TOLD_COMPONENT, DBR_COMPONENT_MAKE},
        {"model", DBR_TOLD_COMPONENT, DBR_COMPONENT_MODEL},
        {"component_serial", DBR_TOLD_COMPONENT, DBR_COMPONENT_SERIAL},
        {"unit", DBR_TOLD_COMPONENT, DBR_COMPONENT_UNIT},
    };

    if (!tells_texts(identity)) {
        json_add_null(ecu, "identification");
        return;
    }
    cJSON *object = json_add_object(ecu, "identification");
    json_add_text(object, "designator", identity->designator[0] ? identity->designator : NULL);
    add_texts(object, identity, rows, sizeof rows / sizeof rows[0]);
    add_software(object, identity);
    add_product(object, identity);
    add_information(object, identity);
    add_telling(object, h, identity);
}

static void add_functionalities(cJSON *ecu, const struct dbr_identity *identity)
{
    const struct dbr_told *told = identity ? identity->told[DBR_TOLD_FUNCTIONALITIES] : NULL;

    if (!told) {
        json_add_null(ecu, "functionalities");
        return;
    }
    cJSON *list = json_add_list(ecu, "functionalities");
    for (size_t i = 0; i < told->functionality_count; i++) {
        const struct dbr_functionality *f = &told->functionalities[i];
        cJSON *item = json_add_item(list);
        json_add_count(item, "code", f->code);
        json_add_text(item, "words", dbr_functionality_words(f->code));
        json_add_count(item, "generation", f->generation);
    }
}

/* The set that an ECU leads or belongs to; members whose address is unknown are counted. */
static void add_working_set(cJSON *ecu, const struct dbr_history *h, const struct dbr_ecu *of)
{
    int master = dbr_history_master(h, of);
    size_t unknown = 0;

    if (master < 0) {
        json_add_null(ecu, "working_set");
        return;
    }
    cJSON *set = json_add_object(ecu, "working_set");
    json_add_count(set, "master", (uint64_t)master);
    cJSON *members = json_add_list(set, "members");
    for (size_t i = 0; i < h->member_count; i++) {
        const struct dbr_member *m = &h->members[i];
        if (m->interface != of->interface || m->master != master)
            continue;
        if (m->address >= 0)
            json_add_index(members, (size_t)m->address);
        else
            unknown++;
    }
    json_add_count(set, "members_not_seen", unknown);
}

void json_add_identity(cJSON *ecu, const struct dbr_history *h, const struct dbr_ecu *of)
{
    add_identification(ecu, h, of->identity);
    add_functionalities(ecu, of->identity);
    add_working_set(ecu, h, of);
}
