/*
 * make_day.c - a recording of 24 h of the invented farm on standard output: each hour a new
 * drive with speeds of its own, key off between; in the tenth hour the axle sensor loses its
 * supply. For the size of the page and how fast it comes to life, so nothing in it repeats.
 */
#include <stdio.h>
#include <stdlib.h>

#include "farm/random.h"
#include "farm/simulation.h"
#include "farm/writers.h"

#define HOURS 24
#define HOUR_MS 3600000
#define HOUR_NS INT64_C(3600000000000)
#define STEP_MS 45000 /* a pass, then a turn */
#define STEPS (HOUR_MS / STEP_MS)
#define FAULTY_HOUR 9

static uint64_t state = 1;

/* From 0 to below 1 (xorshift, Marsaglia 2003). */
static double unit(void)
{
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (double)(state >> 11) / 9007199254740992.0;
}

/* Passes of three quarters of a minute, a slow turn after each, a stop now and then. */
static void plan(struct farm_drive_step *steps)
{
    for (int i = 0; i < STEPS; i++) {
        bool turn = i % 4 == 3, stop = i == 0 || i == STEPS - 1 || unit() < 0.05;
        steps[i] = (struct farm_drive_step){
            .at_ms = i * STEP_MS, .speed_mps = stop ? 0 : turn ? 1.5 : 2.0 + 2.0 * unit(),
            .hitch_percent = turn || stop ? 100 : 10, .pto = !stop, .in_field = !turn,
            .turn_radius_m = turn ? 12 : 0};
    }
}

static int write_hour(int hour, struct farm_bytes *text)
{
    static struct farm_drive_step steps[STEPS];
    struct farm_recording r = {0};
    struct farm_scenario s = {.file = "day.log", .seed = (uint64_t)hour + 1,
                              .duration_ms = HOUR_MS - 60000, .drive = steps,
                              .drive_count = STEPS, .rate_kg_per_m2 = {0.018, 0.006}};

    plan(steps);
    if (hour == FAULTY_HOUR)
        s.faults[0] = (struct farm_fault){.kind = FARM_FAULT_READS_ZERO, .start_ms = 1200000,
                                          .end_ms = FARM_FOREVER, .sensor = FARM_SENSOR_AXLE};
    if (!farm_simulate(&s, &r))
        return -1;
    for (size_t i = 0; i < r.count; i++)
        r.items[i].at_ns += hour * HOUR_NS;
    text->length = 0;
    farm_write_candump(&r, text);
    farm_recording_release(&r);
    return fwrite(text->data, 1, text->length, stdout) == text->length ? 0 : -1;
}

int main(void)
{
    struct farm_bytes text = {0};
    int status = 0;

    for (int hour = 0; hour < HOURS && status == 0; hour++)
        status = write_hour(hour, &text);
    free(text.data);
    return status == 0 && fflush(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
