/* process_roles.c - see process_roles.h. Numbers, units and resolutions: ISO 11783-11. */
#include "tracking/process_roles.h"

#include <stdlib.h>

/* Beyond what ISO 11783-7 can state as a machine's speed, 64.255 m/s, a value is none. */
#define SPEED_MAX_MM_S 64255

static const struct {
    uint16_t first, last; /* DDIs */
    enum dbr_role role;
    double si_factor;     /* 0: the value is a state or a set of states */
} rows[] = {
    {1, 1, DBR_ROLE_RATE_SETPOINT, 1e-11},  /* volume per area, 0.01 mm3/m2 */
    {2, 2, DBR_ROLE_RATE_ACTUAL, 1e-11},
    {6, 6, DBR_ROLE_RATE_SETPOINT, 1e-6},   /* mass per area, mg/m2 */
    {7, 7, DBR_ROLE_RATE_ACTUAL, 1e-6},
    {11, 11, DBR_ROLE_RATE_SETPOINT, 1e-3}, /* count per area, 0.001/m2 */
    {12, 12, DBR_ROLE_RATE_ACTUAL, 1e-3},
    {588, 588, DBR_ROLE_RATE_SETPOINT, 1e-7}, /* volume per area, 0.1 ml/m2 */
    {589, 589, DBR_ROLE_RATE_ACTUAL, 1e-7},
    {390, 390, DBR_ROLE_METER_SPEED, 0.0001 / 60}, /* revolutions, 0.0001 1/min */
    {141, 141, DBR_ROLE_WORK_STATE, 0},
    {289, 289, DBR_ROLE_WORK_SETPOINT, 0},
    {161, 176, DBR_ROLE_SECTIONS_ACTUAL, 0},
    {290, 305, DBR_ROLE_SECTIONS_SETPOINT, 0},
    {397, 397, DBR_ROLE_SPEED_IMPLEMENT, 0.001}, /* mm/s */
};

static enum dbr_value_status status_of(enum dbr_role role, int32_t value)
{
    if (role == DBR_ROLE_SPEED_IMPLEMENT && abs(value / 2) > SPEED_MAX_MM_S / 2)
        return DBR_VALUE_OUT_OF_RANGE;
    /* Rates and meters run forward; what is below zero is no rate. */
    bool quantity = role == DBR_ROLE_RATE_ACTUAL || role == DBR_ROLE_RATE_SETPOINT;
    return quantity && value < 0 ? DBR_VALUE_NOT_AVAILABLE : DBR_VALUE_VALID;
}

bool process_role(const struct dbr_process_data *data, struct role_value *out)
{
    if (data->command != DBR_PROCESS_VALUE && data->command != DBR_PROCESS_SET_AND_ACKNOWLEDGE)
        return false;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (data->ddi < rows[i].first || data->ddi > rows[i].last)
            continue;
        *out = (struct role_value){.role = rows[i].role,
                                   .status = status_of(rows[i].role, data->value),
                                   .si = data->value * rows[i].si_factor,
                                   .raw = (uint32_t)data->value,
                                   .by_mass = data->ddi == 6 || data->ddi == 7,
                                   .element = data->element,
                                   .ddi = data->ddi};
        return true;
    }
    return false;
}

bool process_role_listed(const struct dbr_device *device, enum dbr_role role)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].role == role && dbr_device_lists(device, rows[i].first, rows[i].last))
            return true;
    return false;
}
