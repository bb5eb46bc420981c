/* scenario.c - see scenario.h. */
#include "farm/scenario.h"

#include "farm/maths.h"

const struct farm_drive_step *farm_drive_at(const struct farm_scenario *s, int64_t now_ns)
{
    const struct farm_drive_step *step = &s->drive[0];

    for (size_t i = 1; i < s->drive_count && s->drive[i].at_ms * FARM_NS_PER_MS <= now_ns; i++)
        step = &s->drive[i];
    return step;
}

static bool holds(const struct farm_fault *f, enum farm_fault_kind kind, int64_t now_ns)
{
    return f->kind == kind && f->start_ms * FARM_NS_PER_MS <= now_ns &&
           (f->end_ms == FARM_FOREVER || now_ns < f->end_ms * FARM_NS_PER_MS);
}

static bool is_sensor_fault(const struct farm_fault *f, int64_t now_ns)
{
    return holds(f, FARM_FAULT_READS_ZERO, now_ns) || holds(f, FARM_FAULT_NOT_AVAILABLE, now_ns) ||
           holds(f, FARM_FAULT_FROZEN, now_ns) || holds(f, FARM_FAULT_SCALED, now_ns);
}

const struct farm_fault *farm_sensor_fault(const struct farm_scenario *s, enum farm_sensor sensor,
                                           int64_t now_ns)
{
    for (size_t i = 0; i < FARM_FAULTS_MAX; i++)
        if (s->faults[i].sensor == sensor && is_sensor_fault(&s->faults[i], now_ns))
            return &s->faults[i];
    return NULL;
}

/* Whether some fault of a kind holds; of any unit where `unit` is FARM_UNIT_COUNT. */
static bool any_holds(const struct farm_scenario *s, enum farm_fault_kind kind, enum farm_unit unit,
                      int64_t now_ns)
{
    for (size_t i = 0; i < FARM_FAULTS_MAX; i++)
        if (holds(&s->faults[i], kind, now_ns) &&
            (unit == FARM_UNIT_COUNT || s->faults[i].unit == unit))
            return true;
    return false;
}

bool farm_has_power(const struct farm_scenario *s, enum farm_unit unit, int64_t now_ns)
{
    if (unit == FARM_UNIT_ADD_ON && !any_holds(s, FARM_FAULT_UNIT_ADDED, FARM_UNIT_COUNT, now_ns))
        return false;
    if (unit == FARM_UNIT_RECORDER && !s->recorder_sends)
        return false;
    return !any_holds(s, FARM_FAULT_POWER_LOST, unit, now_ns);
}

bool farm_sends_group(const struct farm_scenario *s, enum farm_unit unit, uint32_t pgn,
                      int64_t now_ns)
{
    for (size_t i = 0; i < FARM_FAULTS_MAX; i++)
        if (s->faults[i].unit == unit && s->faults[i].pgn == pgn &&
            holds(&s->faults[i], FARM_FAULT_MESSAGE_STOPS, now_ns))
            return false;
    return true;
}

bool farm_recorder_disturbed(const struct farm_scenario *s, int64_t now_ns)
{
    return any_holds(s, FARM_FAULT_RECORDER_DISTURBED, FARM_UNIT_COUNT, now_ns);
}
