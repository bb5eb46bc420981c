/*
 * restarted.c - a speed whose ECU starts anew in the middle of a drive: it is gone for a moment
 * that is too short for a silence of the ECU.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/pair.h"
#include "support/story.h"

static const char no_ground[] = "FFFFFFFFFFFFFFFF";

/* The tractor ECU with its radar: what goes wrong between two stretches of a drive. */
struct drive {
    const char *what;
    double gone, back;       /* the whole ECU */
    double claims;           /* unasked; 0: never */
    double blank;            /* seconds without a value after it is back */
    double lost, found;      /* once more, the message of the speed alone; 0: not */
    bool follows;
};

static struct outcome *tell(const struct drive *d)
{
    struct story *s = story_new();
    uint32_t ground = story_id(3, 65097, 255, 240);

    story_background(s, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    story_claim(s, 0.1, 240, NAME_TRACTOR);
    story_beat(s, story_id(6, 65300, 255, 240), 0.1, 0.4, d->gone, no_ground);
    story_beat(s, story_id(6, 65300, 255, 240), 0.1, d->back, 90, no_ground);
    if (d->claims > 0)
        story_claim(s, d->claims, 240, NAME_TRACTOR);
    story_ground(s, 240, drive_field, 1.0, 0.4, d->gone);
    story_beat(s, ground, 0.1, d->back, d->back + d->blank, no_ground);
    story_ground(s, 240, drive_field, 1.0, d->back + d->blank, d->lost > 0 ? d->lost : 90);
    if (d->lost > 0)
        story_ground(s, 240, drive_field, 1.0, d->found, 90);
    return story_tell(s);
}

static void expect_cause(const struct outcome *o, const char *code, const struct drive *d)
{
    const struct dbr_finding *speed = outcome_finding(o, code, 240);
    const struct dbr_finding *restart = outcome_finding(o, "ecu-restart", 240);

    cr_assert_not_null(speed, "%s: %s in %s", d->what, code, outcome_codes(o));
    cr_assert_not_null(restart, "%s: %s", d->what, outcome_codes(o));
    cr_expect_eq(outcome_because(o, speed, restart), d->follows, "%s: %s", d->what, code);
}

/* The first that a technician reads names what the fault follows from, though it is a warning. */
static void expect_first(const struct outcome *o, const struct drive *d)
{
    const struct dbr_verdict *v = &o->diagnosis->verdict;
    const char *first = d->follows ? "restarted" : "stopped coming";

    cr_assert_geq(v->root_cause_count, 1);
    cr_expect_eq(v->root_cause_count, d->follows ? 1 : 2, "%s: %s", d->what, v->sentence);
    cr_expect(strstr(v->sentence, first) != NULL, "%s: %s", d->what, v->sentence);
    cr_expect(strncmp(v->sentence, "Fault", 5) == 0, "%s: %s", d->what, v->sentence);
}

Test(diagnosis_restarted, a_speed_goes_down_with_its_ecu)
{
    static const struct drive rows[] = {
        {"away for a moment", 30, 31.8, 31.5, 0, 0, 0, true},
        {"it claims after its first words", 30, 31.8, 32.5, 0, 0, 0, true},
        {"away for longer than an ECU is silent", 30, 34.3, 34, 0, 0, 0, true},
        {"the speed is lost once more, and its ECU is there", 30, 31.8, 31.5, 0, 60, 63, false},
        {"it starts anew long after", 30, 31.8, 50, 0, 0, 0, false},
        {"the speed was back before it started anew", 30, 31.5, 34, 0, 0, 0, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = tell(&rows[i]);
        expect_cause(o, "speed-lost", &rows[i]);
        if (!outcome_has(o, "ecu-silent", 240))
            expect_first(o, &rows[i]);
        outcome_free(o);
    }
}

/* Its sensor needs some seconds more than the ECU; that it has none later is another matter. */
Test(diagnosis_restarted, a_speed_has_no_value_yet_as_its_ecu_comes_back)
{
    static const struct drive rows[] = {
        {"four seconds", 30, 31.8, 31.5, 4, 0, 0, true},
        {"it starts anew as the sensor is back", 30, 30.3, 40, 4, 0, 0, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = tell(&rows[i]);
        expect_cause(o, "speed-not-available", &rows[i]);
        outcome_free(o);
    }
}

/* Each time it starts anew the speed is gone: then it is a fault by itself, and the root. */
Test(diagnosis_restarted, again_and_again)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    for (int i = 0; i < 4; i++) {
        story_claim(s, 20 * i + 0.1, 240, NAME_TRACTOR);
        story_ground(s, 240, drive_field, 1.0, 20 * i + 0.4,
                     i < 3 ? 20 * i + 18.5 : 90);
    }
    struct outcome *o = story_tell(s);
    const struct dbr_finding *speed = outcome_finding(o, "speed-lost", 240);
    const struct dbr_finding *restart = outcome_finding(o, "ecu-restart", 240);

    cr_assert(speed && restart, "%s", outcome_codes(o));
    cr_expect_eq(restart->severity, DBR_FAULT);
    cr_expect(outcome_because(o, speed, restart), "%s", outcome_codes(o));
    outcome_free(o);
}

/* What one ECU does explains the speed of no other, and a start with the key explains none. */
Test(diagnosis_restarted, whose_start_it_is)
{
    for (int other = 0; other < 4; other++) {
        struct pair p;
        pair_begin(&p, "speed-lost", "ecu-restart");
        struct dbr_speed_source *s = pair_source(&p, 140, DBR_SPEED_WHEEL);
        pair_ecu(&p, other == 1, other == 2 ? 141 : 140, NAME_TRACTOR);
        pair_restart(&p, 21);
        p.restarts[0].with_all = other == 3;
        p.effect.kind = DBR_SPEED_WHEEL;
        s->lost.count = 1;
        s->lost.items[0] = (struct dbr_spell){.start_ns = 20000000000, .end_ns = 22000000000};
        cr_expect_eq(pair_linked(&p), other == 0, "%d", other);
    }
}
