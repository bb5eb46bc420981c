/*
 * partings.c - who falls silent and is not broken: it goes on under another address, or went
 * with the key and came back with it.
 */
#include <criterion/criterion.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

static void beat(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, story_id(6, 65300, 255, address), 0.1, from, to, zeros);
}

/* 140 sends until 30 s; a NAME claims 141 at some time, and 141 sends until another. */
struct move {
    bool own_name;
    double claim_at, to;
};

static struct outcome *move(const struct move *m)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_claim(s, 0.1, 140, NAME_SPREADER);
    beat(s, 140, 0.4, 30);
    story_claim(s, m->claim_at, 141, m->own_name ? NAME_SPREADER : NAME_WEIGHER);
    beat(s, 141, m->claim_at + 0.3, m->to);
    return story_tell(s);
}

/* ISO 11783-5: an ECU may be commanded to another address, and claims that. */
Test(diagnosis_partings, an_ecu_that_moves_on_is_not_silent)
{
    static const struct {
        const char *what;
        struct move move;
        bool silent;
    } rows[] = {
        {"it moves", {true, 30.1, 60}, false},
        {"it moves, with a message in the queue", {true, 29.8, 60}, false},
        {"another NAME comes", {false, 30.1, 60}, true},
        {"it was away before it came back elsewhere", {true, 40, 60}, true},
        {"it moves and ends there", {true, 30.1, 33}, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = move(&rows[i].move);
        cr_expect_eq(outcome_has(o, "ecu-silent", 140), rows[i].silent, "%s: %s", rows[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Its speed goes on there as well. */
Test(diagnosis_partings, the_speed_of_an_ecu_that_moves_on_is_not_lost)
{
    for (int moves = 0; moves < 2; moves++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_claim(s, 0.1, 241, NAME_TRACTOR);
        story_ground(s, 241, drive_stand, 1.0, 0.4, 30);
        if (moves) {
            story_claim(s, 30.1, 242, NAME_TRACTOR);
            story_ground(s, 242, drive_stand, 1.0, 30.4, 60);
        }
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "speed-lost", 241), !moves, "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/*
 * The key (65096 byte 8 bits 3-4, SPN 1865) is off from 40 s, its sender is silent from 42 s
 * and back at 50 s, 140 silent with it; another stays awake throughout.
 */
struct cycle {
    bool told;
    double silent_from, back_at;
};

static struct outcome *cycle(const struct cycle *c)
{
    struct story *s = story_new();
    uint32_t wheel = story_id(3, 65096, 255, 240);

    story_background(s, 0, 90);
    story_claim(s, 0.1, 240, NAME_TRACTOR);
    story_claim(s, 0.2, 140, NAME_SPREADER);
    story_beat(s, wheel, 0.1, 0.4, 40, "000000000000FFF5");
    story_beat(s, wheel, 0.1, 40, 42, c->told ? "000000000000FFF1" : "000000000000FFF5");
    beat(s, 140, 0.5, c->silent_from);
    story_claim(s, 50, 240, NAME_TRACTOR);
    story_beat(s, wheel, 0.1, 50.3, 90, "000000000000FFF5");
    if (c->back_at < 90)
        story_claim(s, c->back_at, 140, NAME_SPREADER);
    beat(s, 140, c->back_at + 0.3, 90);
    return story_tell(s);
}

Test(diagnosis_partings, with_the_key_and_back_with_it)
{
    static const struct {
        const char *what;
        struct cycle cycle;
        bool tractor, implement; /* silent */
    } rows[] = {
        {"all of them", {true, 43, 51}, false, false},
        {"the implement does not come back", {true, 43, 90}, false, true},
        {"the implement comes long after", {true, 43, 75}, false, true},
        {"the implement was silent before", {true, 30, 51}, false, true},
        {"nobody told of a key", {false, 43, 51}, true, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = cycle(&rows[i].cycle);
        const struct dbr_finding *restart = outcome_finding(o, "ecu-restart", 240);
        cr_expect_eq(outcome_has(o, "ecu-silent", 240), rows[i].tractor, "%s: %s", rows[i].what,
                     outcome_codes(o));
        cr_expect_eq(outcome_has(o, "ecu-silent", 140), rows[i].implement, "%s: %s",
                     rows[i].what, outcome_codes(o));
        cr_expect_eq(outcome_has(o, "speed-lost", 240), rows[i].tractor, "%s", rows[i].what);
        cr_assert_not_null(restart, "%s", rows[i].what);
        cr_expect_eq(restart->severity, rows[i].tractor ? DBR_WARNING : DBR_NOTE, "%s",
                     rows[i].what);
        outcome_free(o);
    }
}

/*
 * A task controller and its implement, which asks for it; ISO 11783-10: the status every 2 s, and a
 * client regards its controller as lost after 6 s. The key as above, from 40 s to 50 s.
 */
struct boot {
    const char *what;
    bool told;
    double gone, back, end; /* of the controller; of the recording */
    bool lost;
};

static struct outcome *boot(const struct boot *b)
{
    struct story *s = story_new();
    uint32_t wheel = story_id(3, 65096, 255, 240);
    uint32_t status = story_id(3, 51968, 255, 247);

    story_background(s, 0, b->end);
    story_claim(s, 0.1, 240, NAME_TRACTOR);
    story_beat(s, wheel, 0.1, 0.4, 40, "000000000000FFF5");
    story_beat(s, wheel, 0.1, 40, 50, b->told ? "000000000000FFF1" : "000000000000FFF5");
    story_beat(s, wheel, 0.1, 50, b->end, "000000000000FFF5");
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(3, 51968, 247, 128), 2, 2, b->end, "FFFFFFFF00000000");
    story_beat(s, status, 2, 1, b->gone, "FEFFFFFF01000000");
    story_beat(s, status, 2, b->back, b->end, "FEFFFFFF01000000");
    return story_tell(s);
}

Test(diagnosis_partings, a_controller_that_boots_after_the_key)
{
    static const struct boot rows[] = {
        {"it goes and comes", true, 43, 62, 110, false},
        {"it goes a moment before the key is told", true, 39.5, 62, 110, false},
        {"the recording ends as it boots", true, 43, 999, 63, false},
        {"nobody told of a key", false, 43, 62, 110, true},
        {"it was lost before", true, 25, 62, 110, true},
        {"it comes long after", true, 43, 80, 110, true},
        {"it does not come back", true, 43, 999, 110, true},
        {"it goes once more", true, 70, 90, 110, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = boot(&rows[i]);
        cr_expect_eq(outcome_has(o, "controller-lost", -1), rows[i].lost, "%s: %s",
                     rows[i].what, outcome_codes(o));
        cr_expect_eq(outcome_clean(o), !rows[i].lost, "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* Who starts once more after that has another reason. */
Test(diagnosis_partings, the_second_restart_is_not_the_key)
{
    struct story *s = story_new();
    uint32_t wheel = story_id(3, 65096, 255, 240);

    story_background(s, 0, 90);
    story_claim(s, 0.2, 140, NAME_SPREADER);
    beat(s, 140, 0.5, 90);
    story_beat(s, wheel, 0.1, 0.4, 40, "000000000000FFF5");
    story_beat(s, wheel, 0.1, 40, 45, "000000000000FFF1");
    story_beat(s, wheel, 0.1, 45, 90, "000000000000FFF5");
    story_claim(s, 46, 140, NAME_SPREADER);
    story_claim(s, 50, 140, NAME_SPREADER);
    struct outcome *o = story_tell(s);
    unsigned notes = 0, warnings = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        bool restart = f->address == 140 && f->start_ns > 45000000000;
        notes += restart && f->severity == DBR_NOTE;
        warnings += restart && f->severity == DBR_WARNING;
    }
    cr_expect_eq(notes, 1, "%s", outcome_codes(o));
    cr_expect_eq(warnings, 1, "%s", outcome_codes(o));
    outcome_free(o);
}
