/*
 * metering.h - two bins, two belts, two booms: from speed and set-point to granules on the ground.
 *
 * The belt controller knows only what its axle sensor reads. Belts turn as fast
 * as rate x speed x open width asks, as far as the drive is engaged; what they
 * deliver leaves the bins.
 */
#ifndef FARM_METERING_H
#define FARM_METERING_H

#include "farm/sensors.h"

#define FARM_BOOMS         2u
#define FARM_BOOM_WIDTH_M  12.0
#define FARM_BOOM_SECTIONS 3u

struct farm_metering {
    /* What it is told */
    bool wanted;                      /* set-point work state of the task controller */
    double rate_kg_per_m2[FARM_BINS]; /* set-points of the task controller */
    bool boom_heard[FARM_BOOMS];

    /* What it does */
    bool working;                 /* actual work state */
    double speed_mps;             /* that it meters by */
    double width_m;               /* open */
    bool commanded[FARM_BOOMS];   /* outlets of the boom are to be open */
    double opening[FARM_BOOMS];   /* of the outlets, 0..1: they take time */
    double wanted_rps[FARM_BINS]; /* set-points of the belts, revolutions a second */
    double belt_rps[FARM_BINS];   /* how fast they turn */
    double flow_kgps[FARM_BINS];
    double spread_kg[FARM_BINS];
    double bin_kg[FARM_BINS];
    double without_speed_s; /* since the axle sensor gave its last value */
};

void farm_metering_start(struct farm_metering *m);

/* One step of 1 ms. `running`: the belt controller has power and has started. */
void farm_metering_step(struct farm_metering *m, const struct farm_world *w,
                        const struct farm_reading *axle, bool running);

/* Mass per area that reaches the ground, by the controller's own speed; 0 while nothing works. */
double farm_metering_rate(const struct farm_metering *m, unsigned bin);

#endif
