/* load_units.c - the role of a signal, and its unit: what the role demands, what it is in SI. */
#include <string.h>

#include "decoding/loader.h"

enum quantity { QUANTITY_ANY, QUANTITY_SPEED, QUANTITY_LENGTH, QUANTITY_VOLTAGE };

/* Factors are exact by definition of the units (the foot of 0.3048 m; 5280 feet to the mile). */
static const struct {
    const char *unit;
    enum quantity quantity;
    double si_factor;
} units[] = {
    {"m/s", QUANTITY_SPEED, 1.0},       {"mm/s", QUANTITY_SPEED, 0.001},
    {"km/h", QUANTITY_SPEED, 1 / 3.6},  {"mph", QUANTITY_SPEED, 0.44704},
    {"m", QUANTITY_LENGTH, 1.0},        {"mm", QUANTITY_LENGTH, 0.001},
    {"km", QUANTITY_LENGTH, 1000.0},    {"V", QUANTITY_VOLTAGE, 1.0},
    {"mV", QUANTITY_VOLTAGE, 0.001},
};

/* By the first word of a role; a role that is not listed takes any unit. */
static const struct {
    const char *prefix;
    enum quantity quantity;
    const char *wanted;
} demands[] = {
    {"speed.", QUANTITY_SPEED, "a speed: m/s, mm/s, km/h or mph"},
    {"distance.", QUANTITY_LENGTH, "a length: m, mm or km"},
    {"supply.voltage", QUANTITY_VOLTAGE, "a voltage: V or mV"},
};

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void load_role(struct loader *l, const cJSON *o, enum dbr_role *role)
{
    const char *name = NULL;

    if (!json_string(&l->reader, o, "role", JSON_OPTIONAL, &name) || !name)
        return;
    for (int i = DBR_ROLE_NONE + 1; i < DBR_ROLE_COUNT; i++)
        if (strcmp(name, dbr_role_name((enum dbr_role)i)) == 0) {
            *role = (enum dbr_role)i;
            return;
        }
    json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "role"), "\"%.40s\" is not a role",
              name);
}

static enum quantity find_unit(const char *unit, double *si_factor)
{
    for (size_t i = 0; i < COUNT(units); i++)
        if (strcmp(units[i].unit, unit) == 0) {
            *si_factor = units[i].si_factor;
            return units[i].quantity;
        }
    *si_factor = 1.0;
    return QUANTITY_ANY;
}

/* Roles are compared with each other in SI units: a role of an unknown unit would be guesswork. */
static void check_demand(struct loader *l, const cJSON *o, enum dbr_role role,
                         enum quantity quantity)
{
    const char *name = dbr_role_name(role);
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(o, "unit");

    for (size_t i = 0; i < COUNT(demands); i++)
        if (strncmp(name, demands[i].prefix, strlen(demands[i].prefix)) == 0 &&
            quantity != demands[i].quantity)
            json_fail(&l->reader, unit ? unit : o, "the unit of role %s must be of %s", name,
                      demands[i].wanted);
}

/* Roles that are judged by the raw value: 0, 1, or a number of ISO 11783-7 and -11. */
static bool is_state(enum dbr_role role)
{
    static const char *const prefixes[] = {"direction.", "selection.", "work.", "drive.",
                                           "sections.", "supply.key"};

    for (size_t i = 0; i < COUNT(prefixes); i++)
        if (strncmp(dbr_role_name(role), prefixes[i], strlen(prefixes[i])) == 0)
            return true;
    return false;
}

/* What loads, but would mislead the diagnosis. */
static void check_state(struct loader *l, const cJSON *o, enum dbr_role role)
{
    static const char *const keys[] = {"scale", "offset", "unit"};

    for (size_t i = 0; is_state(role) && i < COUNT(keys); i++) {
        const cJSON *node = cJSON_GetObjectItemCaseSensitive(o, keys[i]);
        if (node)
            json_fail_key(&l->reader, node,
                          "role %s is judged by the raw value: \"%s\" has no place here",
                          dbr_role_name(role), keys[i]);
    }
}

void load_role_and_unit(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const char *unit = NULL;

    load_role(l, o, &signal->role);
    if (!json_string(&l->reader, o, "unit", JSON_OPTIONAL, &unit))
        return;
    signal->unit = unit ? loader_text(l, unit) : "";
    check_demand(l, o, signal->role, find_unit(unit ? unit : "", &signal->si_factor));
    if (l->strict)
        check_state(l, o, signal->role);
}
