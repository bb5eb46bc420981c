/*
 * sensors.h - what the four speed sensors read of the truth, and their distance counters.
 *
 * Each counter adds up what its own sensor reads, so that speed and distance of
 * one message agree whatever is wrong with the sensor.
 */
#ifndef FARM_SENSORS_H
#define FARM_SENSORS_H

#include "farm/world.h"

struct farm_reading {
    bool valid;
    double speed_mps;
    double distance_m;
};

struct farm_sensors {
    struct farm_reading readings[FARM_SENSOR_COUNT];
    double smooth_mps[FARM_SENSOR_COUNT]; /* what a sound sensor would give, without noise */
    struct farm_random random;
};

void farm_sensors_start(struct farm_sensors *s, uint64_t seed);

/* One step of 1 ms. */
void farm_sensors_step(struct farm_sensors *s, const struct farm_world *w,
                       const struct farm_scenario *scenario, int64_t now_ns);

#endif
