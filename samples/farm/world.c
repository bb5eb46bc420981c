/*
 * world.c - see world.h.
 *
 * The machine is invented: a tractor of some 8 t and a trailed spreader of some
 * 7 t with its load. Figures without a source are common practice.
 */
#include "farm/world.h"

#include <string.h>

#include "farm/maths.h"

#define HITCH_IN_WORK_PERCENT 30.0
#define HITCH_RATE            28.0 /* percent a second */

/* Driving */
#define ACCEL_MAX_MPS2   0.85
#define ACCEL_RESPONSE_S 0.5
#define STANDSTILL_MPS   0.01

/* Slip of the driven wheels: rolling, pulling with the belts turning, accelerating. */
#define SLIP_ROLLING      0.032
#define SLIP_WORKING      0.010
#define SLIP_ACCELERATING 0.030
#define SLIP_WAVE         0.003

/* Draft: rolling resistance on stubble and inertia. */
#define SPREADER_KG        7000.0
#define GRAVITY            9.81
#define ROLLING_RESISTANCE 0.09

/* Engine and PTO */
#define CRANK_START_S 1.30
#define CRANK_END_S   2.15
#define CRANK_RPM     210.0
#define IDLE_RPM      850.0
#define WORK_RPM      1900.0 /* gives 540 1/min at the PTO */
#define PTO_RATIO     (540.0 / WORK_RPM)
#define DROOP_RPM     70.0 /* between no and full load */

/* 12 V system: at rest, with the starter, with the alternator. */
#define REST_V   12.5
#define CRANK_V  9.6
#define CHARGE_V 14.15

void farm_world_start(struct farm_world *w, uint64_t seed)
{
    memset(w, 0, sizeof *w);
    w->random = farm_random_start(seed, FARM_STREAM_WORLD);
    w->heading = 0.35;
    w->hitch_percent = 62.0;
    w->battery_v = REST_V;
}

/* No driver keeps a speed to the last digit: the ground rises and falls. */
static double wanted_speed(const struct farm_world *w, const struct farm_drive_step *drive)
{
    return drive->speed_mps *
           (1.0 + 0.012 * farm_sine(0.43 * w->time_s) + 0.006 * farm_sine(1.57 * w->time_s + 1.0));
}

static void drive_on(struct farm_world *w, const struct farm_drive_step *drive)
{
    double wanted = wanted_speed(w, drive);
    double accel =
        farm_clamp((wanted - w->speed_mps) / ACCEL_RESPONSE_S, -ACCEL_MAX_MPS2, ACCEL_MAX_MPS2);

    w->accel_mps2 = farm_lag(w->accel_mps2, accel, 0.15);
    w->speed_mps += w->accel_mps2 * FARM_STEP_S;
    if (drive->speed_mps <= 0.0 && w->speed_mps < STANDSTILL_MPS) {
        w->speed_mps = 0.0;
        w->accel_mps2 = 0.0;
    }
    w->past_speed[w->past_at] = w->speed_mps;
    w->past_at = (w->past_at + 1) % FARM_HISTORY;
}

static void move_on(struct farm_world *w, const struct farm_drive_step *drive)
{
    if (drive->turn_radius_m > 0.0)
        w->heading += w->speed_mps / drive->turn_radius_m * FARM_STEP_S;
    w->north_m += w->speed_mps * farm_cosine(w->heading) * FARM_STEP_S;
    w->east_m += w->speed_mps * farm_sine(w->heading) * FARM_STEP_S;
}

static void pull(struct farm_world *w)
{
    bool moving = w->speed_mps > 0.0;
    double push = farm_clamp(w->accel_mps2 / ACCEL_MAX_MPS2, 0.0, 1.0);

    w->slip = SLIP_ROLLING + (w->in_field ? SLIP_WORKING : 0.0) + SLIP_ACCELERATING * push +
              SLIP_WAVE * farm_sine(0.9 * w->time_s);
    double draft = moving ? SPREADER_KG * (GRAVITY * ROLLING_RESISTANCE + w->accel_mps2) : 0.0;
    w->draft_n = farm_lag(w->draft_n, draft, 0.2);
}

static double wanted_rpm(const struct farm_world *w, const struct farm_drive_step *drive)
{
    if (w->time_s < CRANK_START_S)
        return 0.0;
    if (w->cranking)
        return CRANK_RPM;
    double throttle = drive->pto ? WORK_RPM : IDLE_RPM + 250.0 * w->speed_mps;
    return throttle - DROOP_RPM * w->engine_load;
}

static void run_engine(struct farm_world *w, const struct farm_drive_step *drive)
{
    w->cranking = w->time_s >= CRANK_START_S && w->time_s < CRANK_END_S;
    w->engine_rpm = farm_lag(w->engine_rpm, wanted_rpm(w, drive), w->cranking ? 0.08 : 0.45);
    double traction_w = farm_clamp(w->draft_n, 0.0, 1e6) * w->speed_mps;
    double load =
        w->engine_rpm < 400.0 ? 0.0 : 0.11 + traction_w / 90e3 + (w->pto_engaged ? 0.12 : 0.0);
    w->engine_load = farm_lag(w->engine_load, farm_clamp(load, 0.0, 1.0), 0.3);
    w->pto_engaged = drive->pto;
    w->pto_rpm = farm_lag(w->pto_rpm, drive->pto ? w->engine_rpm * PTO_RATIO : 0.0, 0.4);
}

static void charge(struct farm_world *w)
{
    if (w->cranking) {
        w->battery_v = farm_lag(w->battery_v, CRANK_V, 0.03);
        return;
    }
    double target = w->engine_rpm > 500.0 ? CHARGE_V - 0.15 * w->engine_load : REST_V - 0.1;
    w->battery_v = farm_lag(w->battery_v, target, 0.25) + 0.0008 * farm_random_noise(&w->random);
}

void farm_world_step(struct farm_world *w, const struct farm_drive_step *drive)
{
    w->time_s += FARM_STEP_S;
    w->in_field = drive->in_field;
    w->hitch_percent = farm_ramp(w->hitch_percent, drive->hitch_percent, HITCH_RATE);
    drive_on(w, drive);
    move_on(w, drive);
    pull(w);
    run_engine(w, drive);
    charge(w);
}

double farm_world_past_speed(const struct farm_world *w, unsigned steps)
{
    return w->past_speed[(w->past_at + FARM_HISTORY - 1 - steps) % FARM_HISTORY];
}

bool farm_world_lowered(const struct farm_world *w)
{
    return w->hitch_percent < HITCH_IN_WORK_PERCENT;
}
