/*
 * world.h - tractor and spreader as things that move: speeds, ways, masses, volts.
 *
 * The invented farm: a tractor, and a trailed granule spreader with two bins, a
 * 24 m boom, belts that meter by the speed of the axle, and a weighing unit. All
 * quantities are in SI units unless their names say otherwise.
 */
#ifndef SAMPLES_WORLD_H
#define SAMPLES_WORLD_H

#include <stdbool.h>

#include "random.h"

#define BINS 2

struct world {
    struct random random;
    double t; /* seconds since key-on */

    double ground_mps, axle_m;        /* true speed, true way */
    double wheel_mps, wheel_m;        /* driven wheels run ahead by their slip */
    double radar_mps, radar_m;        /* ground speed as the radar sees it */
    double gnss_mps;                  /* speed over ground, a quarter second old */
    double slip, wander;

    double rpm;
    double volts;
    double pto_rpm;
    bool in_work;                     /* lowered, discs turning, in the field */
    double sensed_mps;                /* what the axle sensor gives */
    double belt_rpm[BINS];
    double rate_mg_m2[BINS];          /* actual rate */
    double bin_kg[BINS];
};

#define RATE_SETPOINT_MG_M2 9000.0 /* each bin: 90 kg/ha */
#define BOOM_M 24.0
#define BELT_KG_PER_TURN 0.9

struct world world_start(uint64_t seed);

/* Moves on to time `t`. `axle_dead`: the sensor reads 0, and what meters by it stands. */
void world_step(struct world *w, double t, bool axle_dead);

#endif
