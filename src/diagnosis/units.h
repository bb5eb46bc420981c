/*
 * units.h - figures in the units of the reader. Everything before the words is SI.
 */
#ifndef DRAWBAR_DIAGNOSIS_UNITS_H
#define DRAWBAR_DIAGNOSIS_UNITS_H

#include "drawbar/diagnosis.h"

#define UNITS_TEXT_MAX 48u

/* Each writes to `out`, which has room for UNITS_TEXT_MAX, and returns it; "unknown" for NAN. */
const char *units_speed(char *out, enum dbr_units units, double mps);       /* "10.1 km/h" */
const char *units_distance(char *out, enum dbr_units units, double metres); /* "120.4 m" */
const char *units_mass_rate(char *out, enum dbr_units units, double kg_m2); /* "180.0 kg/ha" */

#endif
