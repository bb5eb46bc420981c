/*
 * odometer.c - a distance counter against the speed in the same messages.
 *
 * Both come from one sensor. Where they differ, one of them is computed wrong, or
 * the message is put together from two sources.
 */
#include <math.h>

#include "tracking/speeds.h"

/* Contract, distance-disagrees. */
#define DISTANCE_SHARE 0.05
#define DISTANCE_M 50.0

/* In ten seconds the half period by which speed and counter are apart fades below 1 %. */
#define WINDOW_NS (10 * NS_PER_S)

/* Speed is summed over intervals of ordinary messages only. */
#define SUM_WITHIN_NS (NS_PER_S / 2)

/* SPN 1863: counts to 4 211 081.215 m, then begins at 0 (ISO 11783-7). */
#define COUNTER_WRAP_M 4211081.216

/* Between two messages nobody drives so far: the counter was reset. */
#define COUNTER_JUMP_M 100.0

static void restart_window(struct odometer *o, int64_t now)
{
    o->by_counter_m = o->by_speed_m = 0;
    o->agreed_counter_m = o->agreed_speed_m = 0;
    o->since_ns = o->agreed_ns = now;
    o->running = true;
    o->driven = false;
}

/* A window begins with motion, by the one or the other: while both stand there is nothing odd. */
static void await_motion(struct odometer *o, int64_t now)
{
    double more = fmax(o->by_counter_m, o->by_speed_m);

    if (!o->driven && more <= STILL_MPS * (double)(now - o->since_ns) / NS_PER_S)
        restart_window(o, now);
    else
        o->driven = true;
}

/* Trapezoids between messages. */
void odometer_speed(struct source *src, double mps, int64_t now)
{
    struct odometer *o = &src->odometer;

    if (!o->running || src->valid_ns < 0 || now - src->valid_ns > SUM_WITHIN_NS) {
        restart_window(o, now);
        o->counter_known = false;
        return;
    }
    o->by_speed_m += (mps + src->mps) / 2 * (double)(now - src->valid_ns) / NS_PER_S;
}

/* An odd time begins where the two last agreed in its first window, and goes on with whole ones. */
static void hold_odd(struct source *src, int64_t now)
{
    const struct odometer *o = &src->odometer;
    bool first = !src->distance_odd.on;
    struct dbr_spell *spell = watch_hold(&src->distance_odd, o->agreed_ns);

    spell->own = first ? o->by_counter_m - o->agreed_counter_m : spell->own + o->by_counter_m;
    spell->high = first ? o->by_speed_m - o->agreed_speed_m : spell->high + o->by_speed_m;
    spell->end_ns = now;
}

static void judge_window(struct source *src, int64_t now)
{
    struct odometer *o = &src->odometer;
    double more = fmax(o->by_counter_m, o->by_speed_m);
    bool odd = fabs(o->by_counter_m - o->by_speed_m) > DISTANCE_SHARE * more;

    if (!odd) {
        o->agreed_ns = now;
        o->agreed_counter_m = o->by_counter_m;
        o->agreed_speed_m = o->by_speed_m;
    }
    if (more < DISTANCE_M || now - o->since_ns < WINDOW_NS)
        return;
    src->seen.distances_compared++;
    if (odd) {
        hold_odd(src, now);
    } else {
        watch_end(&src->distance_odd, &src->seen.distance, src->distance_odd.spell.end_ns, 0);
    }
    restart_window(o, now);
}

/* Low speed may be shown as zero while the counter goes on: what it counts then tells nothing. */
static bool is_not_shown(const struct source *src, double advance_m, int64_t now)
{
    double s = (double)(now - src->odometer.counter_ns) / NS_PER_S;

    return src->mps < STILL_MPS && advance_m < SHOWN_MPS * s;
}

void odometer_counter(struct source *src, const struct role_value *v, int64_t now)
{
    struct odometer *o = &src->odometer;

    /* A simulated speed drives no distance. */
    if (v->status != DBR_VALUE_VALID || src->simulated) {
        o->running = o->counter_known = false;
        return;
    }
    double advance = v->si - o->counter_m;
    if (advance < 0)
        advance += COUNTER_WRAP_M;
    if (!o->counter_known || advance > COUNTER_JUMP_M)
        restart_window(o, now);
    else if (!is_not_shown(src, advance, now))
        o->by_counter_m += advance;
    o->counter_m = v->si;
    o->counter_ns = now;
    o->counter_known = true;
    if (!o->running)
        return;
    await_motion(o, now);
    judge_window(src, now);
}
