/*
 * sensors.c - see sensors.h. Behaviour of the sensors: common practice, no source.
 */
#include "farm/sensors.h"

#include <string.h>

#include "farm/maths.h"

struct sensor_design {
    double scale;          /* calibration left over */
    double lag_s;          /* filter in the sensor */
    double noise_mps;      /* standard deviation at speed */
    double slow_noise_mps; /* added to it at standstill, gone from 1 m/s on */
    double threshold_mps;  /* below it reads zero */
};

static const struct sensor_design designs[FARM_SENSOR_COUNT] = {
    /* A toothed wheel in the gearbox: steady, blind at a crawl. */
    [FARM_SENSOR_WHEEL] = {1.000, 0.05, 0.004, 0.000, 0.08},
    /* Doppler radar: noise, and more of it at low speed. */
    [FARM_SENSOR_RADAR] = {0.997, 0.15, 0.018, 0.030, 0.12},
    [FARM_SENSOR_AXLE] = {1.002, 0.08, 0.004, 0.000, 0.05},
    /* Doppler of satellites: does not know standstill, so no threshold. */
    [FARM_SENSOR_GNSS] = {1.000, 0.10, 0.012, 0.000, 0.00},
};

#define GNSS_LATENCY_STEPS 180u /* ms from the measurement to the message */

void farm_sensors_start(struct farm_sensors *s, uint64_t seed)
{
    memset(s, 0, sizeof *s);
    s->random = farm_random_start(seed, FARM_STREAM_SENSORS);
}

static double true_speed(const struct farm_world *w, enum farm_sensor sensor)
{
    switch (sensor) {
    case FARM_SENSOR_WHEEL:
        return w->speed_mps * (1.0 + w->slip);
    case FARM_SENSOR_GNSS:
        return farm_world_past_speed(w, GNSS_LATENCY_STEPS);
    case FARM_SENSOR_RADAR:
    case FARM_SENSOR_AXLE:
    case FARM_SENSOR_COUNT:
        break;
    }
    return w->speed_mps;
}

/* Always draws one number, so that a fault does not change the noise after it. */
static double sound_reading(struct farm_sensors *s, const struct farm_world *w,
                            enum farm_sensor sensor)
{
    const struct sensor_design *d = &designs[sensor];
    double *smooth = &s->smooth_mps[sensor];

    *smooth = farm_lag(*smooth, true_speed(w, sensor), d->lag_s);
    double slow = farm_clamp(1.0 - *smooth, 0.0, 1.0);
    double noise = farm_random_noise(&s->random) * (d->noise_mps + d->slow_noise_mps * slow);
    if (*smooth < d->threshold_mps)
        return 0.0;
    return farm_clamp(*smooth * d->scale + noise, 0.0, 60.0);
}

static void apply_fault(struct farm_reading *r, double sound_mps, const struct farm_fault *fault)
{
    r->valid = true;
    switch (fault ? fault->kind : FARM_FAULT_NONE) {
    case FARM_FAULT_READS_ZERO:
        r->speed_mps = 0.0;
        return;
    case FARM_FAULT_NOT_AVAILABLE:
        r->speed_mps = 0.0;
        r->valid = false;
        return;
    case FARM_FAULT_FROZEN:
        return;
    case FARM_FAULT_SCALED:
        r->speed_mps = sound_mps * fault->magnitude;
        return;
    case FARM_FAULT_NONE:
    case FARM_FAULT_MESSAGE_STOPS:
    case FARM_FAULT_POWER_LOST:
    case FARM_FAULT_UNIT_ADDED:
    case FARM_FAULT_RECORDER_DISTURBED:
        break;
    }
    r->speed_mps = sound_mps;
}

void farm_sensors_step(struct farm_sensors *s, const struct farm_world *w,
                       const struct farm_scenario *scenario, int64_t now_ns)
{
    for (int i = 0; i < FARM_SENSOR_COUNT; i++) {
        enum farm_sensor sensor = (enum farm_sensor)i;
        struct farm_reading *r = &s->readings[i];
        apply_fault(r, sound_reading(s, w, sensor), farm_sensor_fault(scenario, sensor, now_ns));
        r->distance_m += r->speed_mps * FARM_STEP_S;
    }
}
