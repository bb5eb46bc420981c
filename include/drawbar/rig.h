/*
 * rig.h - what a machine should have, and in which order it hangs on the cable.
 *
 * A rig is a JSON file ("drawbar-rig/1") that a workshop writes once for a
 * machine: its sections along the cable, the ECUs in each, the speed sources that
 * should exist, and the figures of its products. With it the diagnosis tells what
 * is missing, and between which sections a harness fails.
 *
 *     rig = dbr_rig_load("spreader.json", &error);
 *     options.rig = rig;
 *     ... dbr_rig_free(rig);
 *
 * Everything inside belongs to the rig.
 */
#ifndef DRAWBAR_RIG_H
#define DRAWBAR_RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "drawbar/api.h"
#include "drawbar/definitions.h"
#include "drawbar/error.h"
#include "drawbar/limits.h"
#include "drawbar/reading.h"
#include "drawbar/tracking.h"

DBR_API_BEGIN

struct dbr_rig_ecu {
    const char *label;
    struct dbr_when when; /* address or NAME fields by which it is known */
    bool named;           /* `name` counts: the whole NAME */
    uint64_t name;
    bool optional;        /* may be absent on purpose */
    size_t section;       /* index */
};

struct dbr_rig_product {
    const char *label;
    double mass_per_revolution_kg;
};

struct dbr_rig {
    const char *name;
    size_t section_count; /* in the order of the cable */
    const char *sections[DBR_RIG_SECTIONS_MAX];
    int recorder_in;      /* section that the recorder is plugged into; -1: not told */
    size_t ecu_count;
    struct dbr_rig_ecu ecus[DBR_RIG_ECUS_MAX];
    unsigned speed_kinds; /* bit 1 << enum dbr_speed_kind of sources that should exist */
    double working_width_m; /* NAN: not told */
    size_t product_count;
    struct dbr_rig_product products[DBR_RIG_PRODUCTS_MAX];
};

/* NULL on failure: the file cannot be read, is no JSON or no rig; located with line and caret. */
struct dbr_rig *dbr_rig_load(const char *path, struct dbr_error *error);
void dbr_rig_free(struct dbr_rig *rig);

/* The ECU of the rig that this one is; -1: the rig knows none. A whole NAME weighs most; where the
 * recording does not tell the NAME, the address has to do. */
int dbr_rig_find(const struct dbr_rig *rig, const struct dbr_ecu *ecu);

/* Whether an ECU, by any NAME that its address had, fits entry `index` of the rig. */
bool dbr_rig_fits(const struct dbr_rig *rig, size_t index, const struct dbr_ecu *ecu);

/*
 * Turns a second of a meter of the rig's product `index` as its set-point, speed
 * and width ask for; NAN where the rig or the recording lacks a figure. A rig without a
 * width takes the one that the implement describes.
 */
double dbr_rig_expected_turns(const struct dbr_rig *rig, size_t index,
                              const struct dbr_meter *meter);

/* The rate, kg/m2, that the turns of such a meter give; NAN where a figure is lacking. */
double dbr_rig_metered_rate(const struct dbr_rig *rig, size_t index,
                            const struct dbr_meter *meter);

/* Writes a first draft from a good recording, for a person to put in order. */
int dbr_rig_draft(FILE *out, const struct dbr_history *history, struct dbr_error *error);

DBR_API_END

#endif
