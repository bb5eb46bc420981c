/*
 * orders.c - an implement's own work state against what its controller asks for.
 *
 * A controller may leave its set-point work state (DDI 289) on for a whole task while the operator
 * switches the machine off at the headlands: what counts is the actual work state (DDI 141, or
 * the sections of DDI 161 alone). A trailed spreader works from 10 s to 78 s but for a headland.
 * Meanings of the values: ISO 11783-11.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

#define HEADLAND_FROM 40.0
#define HEADLAND_TO 60.0
#define NEVER 99.0

enum hitch { NO_HITCH, FOLLOWS, DOWN };

/* What comes out at the headland; or its rate is told at work alone. */
enum headland { NOTHING, ALL_THE_SAME, UNTOLD };

struct machine {
    const char *what;
    enum hitch hitch;
    double order_to;      /* 289 is 1 from 8 s, once, and 0 from here on */
    double zero_to;       /* a rate above zero is asked for from here on */
    double controller_to; /* its status comes */
    unsigned on;          /* what DDI 141 says while it works; 9: it is not sent */
    unsigned sections;    /* what DDI 161 says of each section while it works; 9: it is not sent */
    double jams_at;
    enum headland headland;
    const char *code;     /* the one finding; NULL: none */
    double from, to;      /* between these it begins */
};

static bool at_work(double t)
{
    return t >= 10 && t < 78 && !(t >= HEADLAND_FROM && t < HEADLAND_TO);
}

static bool put_value(uint8_t data[8], unsigned ddi, uint32_t value)
{
    data[0] = 0x13; /* value, element 1 */
    data[1] = 0;
    data[2] = (uint8_t)ddi;
    data[3] = (uint8_t)(ddi >> 8);
    for (int i = 0; i < 4; i++)
        data[4 + i] = (uint8_t)(value >> 8 * i);
    return true;
}

static bool fill_state(double t, uint8_t data[8], void *context)
{
    const struct machine *m = context;
    return put_value(data, 141, at_work(t) ? m->on : 0);
}

static bool fill_not_installed(double t, uint8_t data[8], void *context)
{
    (void)t;
    (void)context;
    return put_value(data, 141, 3);
}

static bool fill_sections(double t, uint8_t data[8], void *context)
{
    const struct machine *m = context;
    return put_value(data, 161, at_work(t) && m->sections ? 0xFFFFFFF5u : 0xFFFFFFF0u);
}

static bool fill_rate(double t, uint8_t data[8], void *context)
{
    const struct machine *m = context;
    if (m->headland == UNTOLD && !at_work(t))
        return false;
    bool works = at_work(t) || (m->headland == ALL_THE_SAME && t >= 10 && t < 78);
    bool out = works && t < m->jams_at && t >= m->zero_to && drive_field(t) > 0.3;
    return put_value(data, 7, out ? 18000 : 0);
}

static bool fill_setpoint(double t, uint8_t data[8], void *context)
{
    const struct machine *m = context;
    return put_value(data, 6, t >= m->zero_to ? 18000 : 0);
}

static bool fill_hitch(double t, uint8_t data[8], void *context)
{
    const struct machine *m = context;
    memset(data, 0xFF, 8);
    data[1] = m->hitch == DOWN || at_work(t) ? 0x7F : 0x3F; /* SPN 1877: in work or out of it */
    return true;
}

static struct outcome *work(struct machine *m)
{
    struct story *s = story_new();
    uint32_t value = story_id(3, 51968, 247, 128), order = story_id(3, 51968, 128, 247);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 1, m->controller_to, "FEFFFFFF01FFFFFF");
    if (m->hitch != NO_HITCH)
        story_every(s, story_id(3, 65093, 255, 240), 0.1, 0, 90, fill_hitch, m);
    if (m->order_to > 8)
        story_frame(s, 8.0, order, "1300210101000000");
    if (m->order_to < 90)
        story_frame(s, m->order_to, order, "1300210100000000");
    story_every(s, order, 1.0, 6.0, 90, fill_setpoint, m);
    if (m->on == 3)
        story_every(s, value, 0.5, 6.1, 90, fill_not_installed, m);
    else if (m->on != 9)
        story_every(s, value, 0.5, 6.1, 90, fill_state, m);
    if (m->sections != 9)
        story_every(s, value, 0.5, 6.2, 90, fill_sections, m);
    story_every(s, value, 1.0, 6.4, 90, fill_rate, m);
    return story_tell(s);
}

static void expect_row(struct machine *m)
{
    struct outcome *o = work(m);
    static const char *const codes[] = {"rate-missing", "coverage-missing"};

    for (size_t k = 0; k < 2; k++) {
        const struct dbr_finding *f = outcome_finding(o, codes[k], 128);
        bool expected = m->code && strcmp(m->code, codes[k]) == 0;
        double at = f ? (double)f->start_ns / 1e9 : 0;
        cr_expect_eq(f != NULL, expected, "%s: %s", m->what, outcome_codes(o));
        cr_expect(!f || !expected || (at >= m->from && at <= m->to), "%s: %.1f s", m->what, at);
    }
    outcome_free(o);
}

Test(diagnosis_orders, the_actual_work_state_outranks_the_one_that_was_asked_for)
{
    static struct machine rows[] = {
        {"an operator switches off at the headland, the order stands", NO_HITCH, NEVER, 0, 90, 1, 1,
         NEVER, NOTHING, NULL, 0, 0},
        {"the same, lifted there", FOLLOWS, NEVER, 0, 90, 1, 1, NEVER, NOTHING, NULL, 0, 0},
        {"the same, and what it put out before is its last word", NO_HITCH, NEVER, 0, 90, 1, 1,
         NEVER, UNTOLD, NULL, 0, 0},
        {"it jams at work", NO_HITCH, NEVER, 0, 90, 1, 1, 65, NOTHING, "rate-missing", 64, 67},
        {"it puts out on at the headland, and its state is off", NO_HITCH, NEVER, 0, 90, 1, 1,
         NEVER, ALL_THE_SAME, "coverage-missing", 39, 43},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect_row(&rows[i]);
}

/* Nothing comes out, and its state never goes on: should it? */
Test(diagnosis_orders, an_order_alone_is_evidence_only_while_it_holds)
{
    static struct machine rows[] = {
        {"it is asked to, and lowered", DOWN, NEVER, 0, 90, 0, 9, 0, NOTHING, "coverage-missing", 8,
         9},
        {"it is raised at the headland", FOLLOWS, NEVER, 0, 90, 0, 9, 0, NOTHING,
         "coverage-missing", 9, 12},
        {"the order ends", DOWN, 9, 0, 90, 0, 9, 0, NOTHING, NULL, 0, 0},
        {"a rate of zero is asked for", DOWN, NEVER, NEVER, 90, 0, 9, 0, NOTHING, NULL, 0, 0},
        {"its controller is gone", DOWN, NEVER, 0, 3.5, 0, 9, 0, NOTHING, NULL, 0, 0},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect_row(&rows[i]);
}

static bool titled(const struct outcome *o, const char *words)
{
    const struct dbr_finding *f = outcome_finding(o, "coverage-missing", 128);
    return f && strstr(f->title, words);
}

Test(diagnosis_orders, what_its_work_state_is_instead)
{
    static struct {
        struct machine machine;
        const char *words; /* NULL: no finding */
    } rows[] = {
        {{"off", FOLLOWS, NEVER, 0, 90, 0, 9, NEVER, NOTHING, NULL, 0, 0}, "work state stays off"},
        {{"in error", FOLLOWS, NEVER, 0, 90, 2, 9, NEVER, NOTHING, NULL, 0, 0},
         "work state is in error"},
        {{"not installed", FOLLOWS, NEVER, 0, 90, 3, 9, NEVER, NOTHING, NULL, 0, 0}, NULL},
        {{"told by sections alone: off", FOLLOWS, NEVER, 0, 90, 9, 0, NEVER, NOTHING, NULL, 0, 0},
         "sections stay off"},
        {{"told by sections alone: on", FOLLOWS, NEVER, 0, 90, 9, 1, NEVER, NOTHING, NULL, 0, 0},
         NULL},
        {{"not told", FOLLOWS, NEVER, 0, 90, 9, 9, NEVER, NOTHING, NULL, 0, 0}, NULL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = work(&rows[i].machine);
        if (rows[i].words)
            cr_expect(titled(o, rows[i].words), "%s: %s", rows[i].machine.what, outcome_codes(o));
        else
            cr_expect(outcome_clean(o), "%s: %s", rows[i].machine.what, outcome_codes(o));
        outcome_free(o);
    }
}

/* A wheel of its own: at the headland it is in the air, or it died before the state went off. */
struct wheel {
    const char *what;
    double stands_from, state_off; /* both until the headland ends */
    double order_to;               /* as above; below 8: 289 is never sent */
    bool stuck;
};

static bool fill_wheel(double t, uint8_t data[8], void *context)
{
    const struct wheel *w = context;
    bool stands = t >= w->stands_from && t < HEADLAND_TO;
    return put_value(data, 397, stands ? 0 : (uint32_t)(drive_field(t) * 1000));
}

static bool fill_wheel_state(double t, uint8_t data[8], void *context)
{
    const struct wheel *w = context;
    return put_value(data, 141, t >= 10 && t < 78 && !(t >= w->state_off && t < HEADLAND_TO));
}

static struct outcome *roll(struct wheel *w)
{
    struct story *s = story_new();
    uint32_t value = story_id(3, 51968, 247, 128), order = story_id(3, 51968, 128, 247);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 1, 90, "FEFFFFFF01FFFFFF");
    story_frame(s, 6.0, order, "1300060050460000"); /* 180 kg/ha */
    if (w->order_to > 8)
        story_frame(s, 8.0, order, "1300210101000000");
    if (w->order_to > 8 && w->order_to < 90)
        story_frame(s, w->order_to, order, "1300210100000000");
    story_every(s, value, 0.2, 6.1, 90, fill_wheel, w);
    story_every(s, value, 0.2, 6.15, 90, fill_wheel_state, w);
    return story_tell(s);
}

static enum dbr_answer working_at(const struct outcome *o, int64_t at_ns)
{
    const struct dbr_link_story *story = &o->history->implements[0].links[DBR_LINK_WORKING];

    for (size_t i = 0; i < story->count; i++)
        if (at_ns >= story->items[i].start_ns && at_ns < story->items[i].end_ns)
            return story->items[i].answer;
    return DBR_ANSWER_UNKNOWN;
}

Test(diagnosis_orders, a_wheel_in_the_air_is_not_dead_and_a_dead_one_is_no_wheel_in_the_air)
{
    static struct wheel rows[] = {
        {"put off while the wheel turned", 40.5, 40, 0, false},
        {"the controller puts it off", 40, 40, 40, false},
        {"the wheel dies, and it stops by itself", 40, 41, 0, true},
        {"the same, and the order stands", 40, 41, NEVER, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = roll(&rows[i]);
        cr_expect_eq(outcome_has(o, "speed-stuck-zero", 128), rows[i].stuck, "%s: %s", rows[i].what,
                     outcome_codes(o));
        cr_assert_eq(o->history->implement_count, 1);
        for (int64_t at = 43; at < 59 && !rows[i].stuck; at++)
            cr_expect_eq(working_at(o, at * 1000000000), DBR_ANSWER_FAILED, "%s: %d s",
                         rows[i].what, (int)at);
        outcome_free(o);
    }
}
