/*
 * switched.c - implements that are switched off by hand while a hitch stays down, and speeds
 * that an implement did without: neither is why nothing comes out.
 *
 * A trailed spreader, client of a task controller: its drawbar hangs in the lower links.
 */
#include <criterion/criterion.h>

#include "support/story.h"

#define HEADLAND_FROM 40.0
#define HEADLAND_TO 60.0

struct client {
    bool state_off;    /* at the headland: the work state */
    bool sections_off; /* at the headland: all sections */
    double jams_at;    /* nothing comes out from then on */
    double speed_to;   /* nor when the speed that it lives by is gone */
    bool second_boom;  /* whose sections are off all day */
};

/* A value of process data: DDI, then 32 bits (ISO 11783-10). */
static bool put_value(uint8_t data[8], uint16_t ddi, uint32_t value)
{
    data[0] = 0x13; /* value, element 1 */
    data[1] = 0;
    data[2] = (uint8_t)ddi;
    data[3] = (uint8_t)(ddi >> 8);
    for (int i = 0; i < 4; i++)
        data[4 + i] = (uint8_t)(value >> 8 * i);
    return true;
}

static bool at_headland(double t)
{
    return t >= HEADLAND_FROM && t < HEADLAND_TO;
}

static bool fill_state(double t, uint8_t data[8], void *context)
{
    const struct client *c = context;
    return put_value(data, 141, t > 6 && !(c->state_off && at_headland(t)));
}

static bool fill_sections(double t, uint8_t data[8], void *context)
{
    const struct client *c = context;
    return put_value(data, 161, c->sections_off && at_headland(t) ? 0xFFFFFFF0u : 0xFFFFFFF5u);
}

static bool fill_rate(double t, uint8_t data[8], void *context)
{
    const struct client *c = context;
    bool off = (c->state_off || c->sections_off) && at_headland(t);
    bool out = drive_field(t) > 0.3 && !off && t < c->jams_at && t < c->speed_to;
    return put_value(data, 7, out ? 18000 : 0);
}

static bool fill_second_boom(double t, uint8_t data[8], void *context)
{
    (void)t;
    (void)context;
    put_value(data, 161, 0xFFFFFFF0u);
    data[0] = 0x23; /* element 2 */
    return true;
}

static struct story *trailed(struct client *c)
{
    struct story *s = story_new();
    uint32_t value = story_id(3, 51968, 247, 128);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_beat(s, story_id(3, 65093, 255, 240), 0.1, 0, 90, "007FFFFFFFFFFFFF"); /* in work */
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 1, 90, "FEFFFFFF01FFFFFF");
    story_beat(s, story_id(3, 51968, 128, 247), 5.0, 3, 90, "1300060050460000"); /* 180 kg/ha */
    story_every(s, value, 1.0, 3.0, 90, fill_state, c);
    story_every(s, value, 1.0, 3.2, 90, fill_sections, c);
    story_every(s, value, 1.0, 3.4, 90, fill_rate, c);
    if (c->second_boom)
        story_every(s, value, 1.0, 3.6, 90, fill_second_boom, c);
    return s;
}

Test(diagnosis_switched, off_by_hand_is_no_missing_rate)
{
    static struct {
        const char *what;
        struct client client;
        bool missing;
    } rows[] = {
        {"it works all along", {false, false, 99, 99, false}, false},
        {"its work state is off at the headland", {true, false, 99, 99, false}, false},
        {"all sections are off at the headland, its work state stays on",
         {false, true, 99, 99, false}, false},
        {"it jams at work", {false, false, 65, 99, false}, true},
        {"it jams at work, a boom is off all day", {false, false, 65, 99, true}, true},
        {"switched off at the headland, and jams after it", {true, false, 65, 99, false}, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = trailed(&rows[i].client);
        story_gnss(s, 28, drive_field, 1.0, 0, 90);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *missing = outcome_finding(o, "rate-missing", 128);
        cr_expect_eq(missing != NULL, rows[i].missing, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect(!missing || (missing->start_ns > 63000000000 && missing->start_ns < 68000000000),
                  "%s", rows[i].what);
        outcome_free(o);
    }
}

/* Satellites are lost while it works: what it went on without is not why it stops later. */
Test(diagnosis_switched, a_speed_that_it_did_without_is_no_cause)
{
    static struct {
        const char *what;
        double satellites_to;
        struct client client;
        bool because;
    } rows[] = {
        {"it jams half a minute after the satellites went", 25, {false, false, 65, 99, false},
         false},
        {"it stops with the satellites", 65, {false, false, 99, 66, false}, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = trailed(&rows[i].client);
        story_gnss(s, 28, drive_field, 1.0, 0, rows[i].satellites_to);
        story_beat(s, story_id(2, 129026, 255, 28), 0.25, rows[i].satellites_to, 90,
                   "00FCFFFFFFFFFFFF");
        struct outcome *o = story_tell(s);
        const struct dbr_finding *missing = outcome_finding(o, "rate-missing", 128);
        const struct dbr_finding *lost = outcome_finding(o, "speed-not-available", 28);
        cr_assert(missing && lost, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(outcome_because(o, missing, lost), rows[i].because, "%s", rows[i].what);
        outcome_free(o);
    }
}

/* Told on change only: the word of one section is not that of the whole machine. */
Test(diagnosis_switched, one_section_off_is_no_missing_coverage)
{
    struct client client = {false, false, 99, 99, false};
    struct story *s = story_new();
    uint32_t value = story_id(3, 51968, 247, 128);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 1, 90, "FEFFFFFF01FFFFFF");
    story_every(s, value, 1.0, 3.4, 90, fill_rate, &client);
    story_frame(s, 6.0, value, "23008D0001000000"); /* elements 2 and 3: work state on */
    story_frame(s, 6.1, value, "33008D0001000000");
    story_frame(s, 30.0, value, "33008D0000000000"); /* 3 is off on a wedge */
    struct outcome *o = story_tell(s);

    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}
