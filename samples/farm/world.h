/*
 * world.h - the truth: where the tractor is, how fast, and what its engine does.
 *
 * Nobody on the bus sees this; sensors (sensors.h) read it, ECUs report what
 * they read. Figures of the invented machine stand in world.c.
 */
#ifndef FARM_WORLD_H
#define FARM_WORLD_H

#include "farm/random.h"
#include "farm/scenario.h"

/* The GNSS receiver answers late: speeds of the last 255 ms are kept. */
#define FARM_HISTORY 256u

struct farm_world {
    double time_s;
    double speed_mps; /* of the rolling spreader: true speed over ground */
    double accel_mps2;
    double slip;    /* driven wheels turn (1 + slip) times as fast */
    double heading; /* rad, clockwise from north */
    double north_m, east_m;
    double hitch_percent;
    double draft_n; /* pull at the drawbar */
    bool pto_engaged;
    double pto_rpm;
    double engine_rpm;
    double engine_load; /* 0..1 */
    double battery_v;
    bool cranking;
    bool in_field;
    double past_speed[FARM_HISTORY]; /* a ring, one a step */
    unsigned past_at;
    struct farm_random random;
};

void farm_world_start(struct farm_world *w, uint64_t seed);

/* One step of 1 ms under a step of the drive. */
void farm_world_step(struct farm_world *w, const struct farm_drive_step *drive);

/* The true speed some steps ago; steps < FARM_HISTORY. */
double farm_world_past_speed(const struct farm_world *w, unsigned steps);

/* The implement counts as lowered. */
bool farm_world_lowered(const struct farm_world *w);

#endif
