/*
 * ecu_gnss.c - the GNSS receiver on the cab roof: position, course and speed (NMEA 2000).
 *
 * The field lies in the open Atlantic, where nobody farms.
 */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

#define LATITUDE_DEG      45.0
#define LONGITUDE_DEG     (-30.0)
#define COS_LATITUDE      0.70710678118654752
#define METRES_PER_DEGREE 111194.93 /* of a meridian of the mean earth, 6371 km */
#define SID_LAST          252u      /* sequence identifiers run 0..252 */
#define COURSE_MIN_MPS    0.2       /* below it there is no course */
#define COURSE_UNKNOWN    0xFFFFu

static bool compose_position(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_world *w = &sim->world;
    double latitude = LATITUDE_DEG + w->north_m / METRES_PER_DEGREE;
    double longitude = LONGITUDE_DEG + w->east_m / (METRES_PER_DEGREE * COS_LATITUDE);

    (void)ecu;
    farm_put32(data, (uint32_t)farm_round(latitude * 1e7));
    farm_put32(data + 4, (uint32_t)farm_round(longitude * 1e7));
    return true;
}

static uint32_t course_of(const struct farm_sim *sim, struct farm_ecu *ecu, double speed_mps)
{
    if (speed_mps < COURSE_MIN_MPS)
        return COURSE_UNKNOWN;
    double course = sim->world.heading + 0.004 * farm_random_noise(&ecu->random);
    return (uint32_t)farm_round(farm_clamp(course, 0.0, 2.0 * FARM_PI) * 1e4);
}

static bool compose_course_speed(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    const struct farm_reading *r = &sim->sensors.readings[FARM_SENSOR_GNSS];

    data[0] = ecu->counter;
    ecu->counter = (uint8_t)((ecu->counter + 1u) % (SID_LAST + 1u));
    data[1] = 0xFC; /* true course; rest reserved */
    if (r->valid) {
        farm_put16(data + 2, course_of(sim, ecu, r->speed_mps));
        farm_put16(data + 4, (uint32_t)farm_round(r->speed_mps * 100.0));
    }
    return true;
}

static const struct farm_message messages[] = {
    {FARM_PGN_POSITION, 2, FARM_GLOBAL, 100, 48, compose_position},
    {FARM_PGN_COURSE_SPEED, 2, FARM_GLOBAL, 250, 49, compose_course_speed},
};

const struct farm_ecu_design farm_gnss_design = {
    .name = {.industry_group = 2, .device_class = 0, .function = 23, .identity = 2103},
    .address = FARM_GNSS_ADDRESS,
    .boot_ms = 1250,
    .clock_ppm = 2,
    .jitter_us = 1500,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
};
