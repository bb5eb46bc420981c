/* metering.c - see metering.h. The figures are those of an invented spreader. */
#include "farm/metering.h"

#include <string.h>

#include "farm/maths.h"

#define SPEED_MIN_MPS   0.3 /* below it the belts would stutter: nothing is metered */
#define SPEED_HOLD_S    1.0 /* a lost speed is bridged this long */
#define OUTLET_TIME_S   0.4 /* from closed to open */
#define BELT_RESPONSE_S 0.25
#define DRIVE_MIN_RPM   300.0 /* of the PTO: below it the oil flow drives no belt */

struct bin_design {
    double fill_kg;
    double kg_per_revolution; /* of the belt at the set gate height */
    double calibration;       /* what really falls, per what is reckoned */
};

static const struct bin_design bins[FARM_BINS] = {{3180.0, 0.92, 1.006}, {1120.0, 0.31, 0.991}};

void farm_metering_start(struct farm_metering *m)
{
    memset(m, 0, sizeof *m);
    for (unsigned i = 0; i < FARM_BINS; i++)
        m->bin_kg[i] = bins[i].fill_kg;
}

static void choose_speed(struct farm_metering *m, const struct farm_reading *axle)
{
    m->without_speed_s = axle->valid ? 0.0 : m->without_speed_s + FARM_STEP_S;
    if (axle->valid)
        m->speed_mps = axle->speed_mps;
    else if (m->without_speed_s > SPEED_HOLD_S)
        m->speed_mps = 0.0;
}

static void move_outlets(struct farm_metering *m)
{
    m->width_m = 0.0;
    for (unsigned i = 0; i < FARM_BOOMS; i++) {
        m->commanded[i] = m->working && m->boom_heard[i];
        m->opening[i] = farm_ramp(m->opening[i], m->commanded[i] ? 1.0 : 0.0, 1.0 / OUTLET_TIME_S);
        if (m->commanded[i])
            m->width_m += FARM_BOOM_WIDTH_M;
    }
}

static void turn_belt(struct farm_metering *m, unsigned bin, bool driven)
{
    const struct bin_design *d = &bins[bin];
    double wanted_kgps = m->rate_kg_per_m2[bin] * m->speed_mps * m->width_m;

    m->wanted_rps[bin] = wanted_kgps / d->kg_per_revolution;
    m->belt_rps[bin] =
        farm_lag(m->belt_rps[bin], driven ? m->wanted_rps[bin] : 0.0, BELT_RESPONSE_S);
    if (m->belt_rps[bin] < 0.001)
        m->belt_rps[bin] = 0.0;
    m->flow_kgps[bin] = m->belt_rps[bin] * d->kg_per_revolution;
    double fallen = m->flow_kgps[bin] * d->calibration * FARM_STEP_S;
    m->spread_kg[bin] += m->flow_kgps[bin] * FARM_STEP_S;
    m->bin_kg[bin] = farm_clamp(m->bin_kg[bin] - fallen, 0.0, d->fill_kg);
}

void farm_metering_step(struct farm_metering *m, const struct farm_world *w,
                        const struct farm_reading *axle, bool running)
{
    bool driven = w->pto_engaged && w->pto_rpm > DRIVE_MIN_RPM;

    choose_speed(m, axle);
    m->working = running && m->wanted && m->speed_mps > SPEED_MIN_MPS &&
                 (m->boom_heard[0] || m->boom_heard[1]);
    move_outlets(m);
    for (unsigned i = 0; i < FARM_BINS; i++)
        turn_belt(m, i, driven);
}

double farm_metering_rate(const struct farm_metering *m, unsigned bin)
{
    if (!m->working || m->width_m <= 0.0)
        return 0.0;
    return m->flow_kgps[bin] / (m->speed_mps * m->width_m);
}
