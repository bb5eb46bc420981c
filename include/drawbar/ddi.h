/*
 * ddi.h - the data dictionary of process data: what a DDI is called, and its unit.
 *
 *     const struct dbr_ddi *ddi = dbr_ddi_find(data.ddi);
 *     if (ddi)
 *         value = data.value * ddi->resolution;      in ddi->unit
 *
 * The table holds what rate, coverage, sections, speed and totals need. Editions of the
 * dictionary differ and grow: a DDI that is not here is unknown, never an error.
 */
#ifndef DRAWBAR_DDI_H
#define DRAWBAR_DDI_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"

DBR_API_BEGIN

/* Makers number their own process data from here to 65534 (ISO 11783-11). */
#define DBR_DDI_PROPRIETARY_MIN 57344u
#define DBR_DDI_PROPRIETARY_MAX 65534u

struct dbr_ddi {
    uint16_t number;
    const char *name;   /* in lower case, to stand in a sentence */
    const char *unit;   /* "" for states, sets of states and plain counts */
    double resolution;  /* raw value * resolution is in `unit` */
    const char *source;
};

/* Static storage. NULL where the table does not hold it. */
const struct dbr_ddi *dbr_ddi_find(uint16_t number);

bool dbr_ddi_is_proprietary(uint16_t number);

/* The whole table, in the order of numbers. */
size_t dbr_ddi_count(void);
const struct dbr_ddi *dbr_ddi_at(size_t index);

DBR_API_END

#endif
