/* units.c - see units.h. */
#include "diagnosis/units.h"

#include <math.h>
#include <stdio.h>

/* Exact: an hour has 3600 s; a mile is 1609.344 m, a foot 0.3048 m, an acre 4046.8564224 m2 and a
 * pound 0.45359237 kg (international yard and pound, 1959). */
#define KMH_PER_MPS 3.6
#define MPH_PER_MPS (3600.0 / 1609.344)
#define FEET_PER_M (1 / 0.3048)
#define KG_HA_PER_KG_M2 1e4
#define LB_AC_PER_KG_M2 (4046.8564224 / 0.45359237)

struct shown_unit {
    double factor;
    int decimals;
    const char *words;
};

static const char *write_figure(char *out, double si, const struct shown_unit *unit)
{
    if (isnan(si))
        snprintf(out, UNITS_TEXT_MAX, "unknown");
    else
        snprintf(out, UNITS_TEXT_MAX, "%.*f %s", unit->decimals, si * unit->factor, unit->words);
    return out;
}

const char *units_speed(char *out, enum dbr_units units, double mps)
{
    static const struct shown_unit by_units[] = {{KMH_PER_MPS, 1, "km/h"},
                                                   {MPH_PER_MPS, 1, "mph"}};
    return write_figure(out, mps, &by_units[units == DBR_UNITS_US]);
}

const char *units_distance(char *out, enum dbr_units units, double metres)
{
    static const struct shown_unit by_units[] = {{1, 1, "m"}, {FEET_PER_M, 0, "ft"}};
    return write_figure(out, metres, &by_units[units == DBR_UNITS_US]);
}

const char *units_mass_rate(char *out, enum dbr_units units, double kg_m2)
{
    static const struct shown_unit by_units[] = {{KG_HA_PER_KG_M2, 1, "kg/ha"},
                                                   {LB_AC_PER_KG_M2, 1, "lb/ac"}};
    return write_figure(out, kg_m2, &by_units[units == DBR_UNITS_US]);
}
