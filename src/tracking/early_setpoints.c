/* early_setpoints.c - see early_setpoints.h. */
#include "tracking/early_setpoints.h"

#include <string.h>

#include "tracking/buses.h"

/* ISO 11783-10: a client regards its task controller as lost after 6 s without status. */
#define WAIT_NS (6 * NS_PER_S)

static bool is_setpoint(enum dbr_role role)
{
    return role == DBR_ROLE_RATE_SETPOINT || role == DBR_ROLE_WORK_SETPOINT ||
           role == DBR_ROLE_SECTIONS_SETPOINT;
}

bool early_setpoints_are_over(const struct bus *bus)
{
    return bus->alive_ns >= WAIT_NS;
}

bool early_setpoints_keep(struct early_setpoints *e, const struct sighting *s, enum dbr_role role)
{
    if (!is_setpoint(role) || early_setpoints_are_over(s->bus) ||
        e->count == DBR_EARLY_SETPOINTS_MAX)
        return false;
    e->frames[e->count++] = *s->frame;
    return true;
}

bool early_setpoints_take(struct early_setpoints *e, uint8_t interface, struct dbr_frame *out)
{
    size_t i = 0;

    while (i < e->count && e->frames[i].interface != interface)
        i++;
    if (i == e->count)
        return false;
    *out = e->frames[i];
    e->count--;
    memmove(&e->frames[i], &e->frames[i + 1], (e->count - i) * sizeof e->frames[0]);
    return true;
}
