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

static bool load_role(struct loader *l, const cJSON *o, enum dbr_role *role)
{
    const char *name = NULL;

    if (!json_string(&l->reader, o, "role", JSON_OPTIONAL, &name))
        return false;
    if (!name)
        return true;
    for (int i = DBR_ROLE_NONE + 1; i < DBR_ROLE_COUNT; i++)
        if (strcmp(name, dbr_role_name((enum dbr_role)i)) == 0) {
            *role = (enum dbr_role)i;
            return true;
        }
    return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "role"),
                     "\"%.40s\" is not a role", name);
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
static bool check_demand(struct loader *l, const cJSON *o, enum dbr_role role,
                         enum quantity quantity)
{
    const char *name = dbr_role_name(role);
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(o, "unit");

    for (size_t i = 0; i < COUNT(demands); i++)
        if (strncmp(name, demands[i].prefix, strlen(demands[i].prefix)) == 0 &&
            quantity != demands[i].quantity)
            return json_fail(&l->reader, unit ? unit : o, "the unit of role %s must be of %s",
                             name, demands[i].wanted);
    return true;
}

bool load_role_and_unit(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const char *unit = NULL;

    if (!load_role(l, o, &signal->role) ||
        !json_string(&l->reader, o, "unit", JSON_OPTIONAL, &unit))
        return false;
    signal->unit = unit ? loader_text(l, unit) : "";
    enum quantity quantity = find_unit(unit ? unit : "", &signal->si_factor);
    return signal->unit && check_demand(l, o, signal->role, quantity);
}
