/* Values at the edges of what a message can carry: what a speed is there, and what it is not. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/reporting.h"
#include "support/story.h"

#define TRACTOR 240u
#define SPREADER 128u

/* A speed of 16 bits at one raw value from 30 s to 60 s, after a sound half minute. */
static struct outcome *told_raw(unsigned raw)
{
    struct story *s = story_new();
    char hex[32];

    snprintf(hex, sizeof hex, "%02X%02XFFFFFFFFFFFF", raw & 0xFF, raw >> 8);
    story_background(s, 0, 60);
    story_wheel(s, TRACTOR, drive_field, 1.0, 0, 60);
    story_ground(s, TRACTOR, drive_field, 1.0, 0, 30);
    story_beat(s, story_id(3, 65097, 255, TRACTOR), 0.1, 30, 60, hex);
    return story_tell(s);
}

/* ISO 11783-7 (as SAE J1939-71, table of transmitted values) for two bytes: up to FAFF a value,
 * FBxx to FDxx reserved, FExx an error, FFxx not available. */
Test(diagnosis_numbers, a_speed_at_every_edge_of_its_range)
{
    static const struct {
        unsigned raw;
        const char *code; /* NULL: it is a value, whatever is found in it */
    } rows[] = {{0x0001, NULL},
                {0xFAFF, NULL},
                {0xFB00, "speed-not-available"},
                {0xFDFF, "speed-not-available"},
                {0xFE00, "speed-error"},
                {0xFEFF, "speed-error"},
                {0xFF00, "speed-not-available"},
                {0xFFFF, "speed-not-available"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = told_raw(rows[i].raw);
        for (size_t k = 2; k < sizeof rows / sizeof rows[0]; k += 2)
            cr_expect_eq(outcome_has(o, rows[k].code, TRACTOR),
                         rows[i].code && strcmp(rows[i].code, rows[k].code) == 0,
                         "%04X: %s", rows[i].raw, outcome_codes(o));
        outcome_free(o);
    }
}

/* DDI 397 has 32 bits with sign: no machine is that fast, and none of it may become a speed. */
Test(diagnosis_numbers, process_data_at_the_ends_of_32_bits)
{
    static const char *const values[] = {"FFFFFF7F", "00000080"};

    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        struct story *s = story_field(-1);
        char hex[17];
        snprintf(hex, sizeof hex, "13008D01%s", values[i]);
        story_beat(s, story_id(3, 51968, 255, SPREADER), 0.1, 1, 90, hex);
        struct outcome *o = story_tell(s);
        for (size_t k = 0; k < o->history->source_count; k++)
            if (o->history->sources[k].kind == DBR_SPEED_IMPLEMENT)
                cr_expect_eq(o->history->sources[k].valid, 0, "%s", values[i]);
        cr_expect_not(outcome_has(o, "speed-erratic", SPREADER), "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/* A counter of 32 bits in mm that runs on at 0 behind its highest value, FAFFFFFF (ISO 11783-7). */
static bool fill_counter(double t, uint8_t data[8], void *context)
{
    double mps = drive_field(t), *metres = context;
    unsigned speed = (unsigned)lround(mps * 1000);

    metres[0] += mps * (t - metres[1]);
    metres[1] = t;
    uint32_t counter = (uint32_t)(llround(metres[0] * 1000) % INT64_C(0xFB000000));
    memset(data, 0xFF, 8);
    for (unsigned i = 0; i < 2; i++)
        data[i] = (uint8_t)(speed >> (8 * i));
    for (unsigned i = 0; i < 4; i++)
        data[2 + i] = (uint8_t)(counter >> (8 * i));
    return true;
}

Test(diagnosis_numbers, a_distance_counter_that_begins_again_is_no_fault)
{
    struct story *s = story_new();
    double metres[2] = {4211000.0, 0}; /* 81 m before its end */

    story_background(s, 0, 90);
    story_every(s, story_id(3, 65096, 255, TRACTOR), 0.1, 0, 90, fill_counter, metres);
    struct outcome *o = story_tell(s);

    cr_assert_gt(metres[0], 4211081.216 + 50, "it went past its end");
    cr_expect_not(outcome_has(o, "distance-disagrees", TRACTOR), "%s", outcome_codes(o));
    outcome_free(o);
}

/* One moment, and thirty years: every figure is a number or unknown, in all of the report. */
Test(diagnosis_numbers, no_duration_makes_a_figure_that_is_none)
{
    static const double ends[] = {0, 1e-9, 1e9};

    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        struct story *s = story_new();
        story_frame(s, 0, story_id(3, 65097, 255, TRACTOR), "E80300000000FFFF");
        story_frame(s, ends[i], story_id(3, 65097, 255, TRACTOR), "E80300000000FFFF");
        struct outcome *o = story_tell(s);
        const struct dbr_report report = {.info = &o->info,
                                          .history = o->history,
                                          .diagnosis = o->diagnosis,
                                          .bitrate = 250000,
                                          .width = 80};
        char *text = NULL;
        size_t size = 0;
        FILE *out = open_memstream(&text, &size);
        cr_assert_eq(dbr_report_text(out, &report, NULL), 0);
        fclose(out);
        cr_expect_null(strstr(text, "nan"), "%s", text);
        cr_expect_null(strstr(text, "inf "), "%s", text);
        cr_expect_null(strstr(text, "-0."), "%s", text);
        free(text);
        outcome_free(o);
    }
}
