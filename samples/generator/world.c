/*
 * world.c - see world.h.
 *
 * Orders of magnitude: slip of 3 to 8 % in light work (ballasting guides), field
 * speed 10 km/h, acceleration 0.6 m/s2, alternator 14.1 V, 9 V while cranking:
 * common practice, no source.
 */
#include "world.h"

#define STEP_S 0.01
#define ACCELERATION 0.6
#define BRAKING 0.9
#define CRANK_FROM_S 0.8
#define CRANK_UNTIL_S 1.6

/* The drive: until when, and how fast. */
static const struct {
    double until_s, mps;
    bool work;
} drive[] = {{14, 0, false},   {17, 1.5, false}, {30, 2.8, true}, {36, 1.7, false},
             {44, 2.9, true},  {52, 0, false},   {68, 2.7, true}, {82, 2.9, true},
             {1e9, 0, false}};

static unsigned phase_at(double t)
{
    unsigned i = 0;

    while (t >= drive[i].until_s)
        i++;
    return i;
}

/* Moves `value` towards `target` by at most `step`. */
static double towards(double value, double target, double step)
{
    if (target > value + step)
        return value + step;
    if (target < value - step)
        return value - step;
    return target;
}

struct world world_start(uint64_t seed)
{
    return (struct world){.random = random_seed(seed), .volts = 12.5, .bin_kg = {1400, 1250}};
}

static void drive_on(struct world *w)
{
    double target = drive[phase_at(w->t)].mps;
    double limit = target > w->ground_mps ? ACCELERATION : BRAKING;

    /* The ground is not even: the speed wanders by a percent or two. */
    w->wander += random_bell(&w->random, 0.004) - 0.02 * w->wander;
    if (target > 0)
        target *= 1 + w->wander;
    w->ground_mps = towards(w->ground_mps, target, limit * STEP_S);
    double wanted_slip = w->in_work ? 0.055 : 0.035;
    w->slip += (wanted_slip - w->slip) * STEP_S + random_bell(&w->random, 0.0006);
    if (w->slip < 0.005)
        w->slip = 0.005;
    w->wheel_mps = w->ground_mps / (1 - w->slip);
}

/* A radar is noisy, more so when slow; a receiver smooths over a quarter second. */
static void sense(struct world *w, bool axle_dead)
{
    double noise = w->ground_mps > 0 ? 0.008 + 0.01 / (1 + w->ground_mps) : 0;

    w->radar_mps = w->ground_mps > 0.15 ? w->ground_mps + random_bell(&w->random, noise) : 0;
    w->gnss_mps += (w->ground_mps - w->gnss_mps) * STEP_S / 0.25;
    w->sensed_mps = axle_dead ? 0 : w->ground_mps > 0.05 ? w->ground_mps : 0;
    w->axle_m += w->ground_mps * STEP_S;
    w->wheel_m += w->wheel_mps * STEP_S;
    w->radar_m += w->radar_mps * STEP_S;
}

/* Belts meter by the speed that the sensor gives: rate x width x speed is a mass flow. */
static void meter(struct world *w)
{
    for (unsigned i = 0; i < BINS; i++) {
        bool meters = w->in_work && w->sensed_mps > 0.3;
        double kg_s = meters ? RATE_SETPOINT_MG_M2 * 1e-6 * BOOM_M * w->sensed_mps : 0;
        double wanted_rpm = kg_s / BELT_KG_PER_TURN * 60;
        w->belt_rpm[i] = towards(w->belt_rpm[i], wanted_rpm, 30 * STEP_S);
        double actual_kg_s = w->belt_rpm[i] / 60 * BELT_KG_PER_TURN;
        w->bin_kg[i] -= actual_kg_s * STEP_S;
        w->rate_mg_m2[i] = w->sensed_mps > 0.3 ? actual_kg_s * 1e6 / (BOOM_M * w->sensed_mps) : 0;
    }
}

static void run_engine(struct world *w)
{
    bool cranking = w->t >= CRANK_FROM_S && w->t < CRANK_UNTIL_S;
    double wanted = w->t < CRANK_FROM_S ? 0 : cranking ? 220 : w->t < 12 ? 900 : 1650;

    if (wanted > 1000)
        wanted -= w->in_work ? 40 : 0;
    w->rpm = towards(w->rpm, wanted, 700 * STEP_S) + (w->rpm > 300 ? random_bell(&w->random, 1.5) : 0);
    double volts = cranking ? 9.6 : w->rpm > 600 ? 14.1 : 12.4;
    w->volts += (volts - w->volts) * STEP_S / 0.15 + random_bell(&w->random, 0.004);
    w->pto_rpm = towards(w->pto_rpm, w->t > 12 ? w->rpm / 3.05 : 0, 120 * STEP_S);
}

void world_step(struct world *w, double t, bool axle_dead)
{
    while (w->t + STEP_S <= t) {
        w->t += STEP_S;
        w->in_work = drive[phase_at(w->t)].work;
        run_engine(w);
        drive_on(w);
        sense(w, axle_dead);
        meter(w);
    }
}
