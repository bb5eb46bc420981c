/*
 * power.c - a bus that loses its power in the middle of a recording, where no message tells of a
 * key: its ECUs go one after the other, and whoever comes back claims anew (SAE J1939-81 4.2).
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

enum { ENGINE, TRACTOR, SPREADER, TERMINAL, UNITS };

static const struct {
    uint8_t address;
    uint64_t name;
    double to, after; /* heard until, and back so long after the first */
} units[UNITS] = {
    {0, NAME_NEWCOMER, 51.0, 0.0},
    {240, NAME_TRACTOR, 52.5, 0.1},
    {141, NAME_SPREADER, 54.0, 0.9},
    {38, NAME_WEIGHER, 55.2, 0.5},
};

#define BACK 68.0

struct night {
    const char *what;
    bool claims;       /* as they come back */
    int odd;           /* the one that is told apart */
    double to, back;   /* of it; 0: as the others, 99: never back */
    bool told;         /* of the odd one: fell silent */
};

static void talk(struct story *s, int u, double from, double to)
{
    if (u == TRACTOR)
        story_ground(s, 240, drive_stand, 1.0, from, to);
    else
        story_beat(s, story_id(6, 65300, 255, units[u].address), 0.1, from, to, zeros);
}

static void boot(struct story *s, int u, double at, bool claims)
{
    if (claims)
        story_claim(s, at, units[u].address, units[u].name);
    talk(s, u, at + (claims ? 0.25 : 0), 110);
}

static struct outcome *spend(const struct night *n)
{
    struct story *s = story_new();

    for (int u = 0; u < UNITS; u++) {
        double to = n->odd == u && n->to > 0 ? n->to : units[u].to;
        double back = n->odd == u && n->back > 0 ? n->back : BACK + units[u].after;
        story_claim(s, 0.1 + 0.1 * u, units[u].address, units[u].name);
        talk(s, u, 0.6, to);
        if (back < 99)
            boot(s, u, back, n->claims);
    }
    return story_tell(s);
}

Test(diagnosis_power, going_down_one_by_one_is_no_fault)
{
    static const struct night rows[] = {
        {"one after the other, and back", true, UNITS, 0, 0, false},
        {"the terminal stays for eight seconds more", true, TERMINAL, 63, 0, false},
        {"the spreader starts slowly", true, SPREADER, 0, BACK + 12, false},
        {"the spreader does not come back", true, SPREADER, 0, 99, true},
        {"the spreader comes back half a minute later", true, SPREADER, 0, BACK + 30, true},
        {"the spreader was dead half a minute before", true, SPREADER, 25, 0, true},
        {"the engine is dead for four seconds when the recorder loses its plug", false, ENGINE, 51,
         0, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = spend(&rows[i]);
        for (int u = 0; u < UNITS && rows[i].claims; u++)
            cr_expect_eq(outcome_has(o, "ecu-silent", units[u].address),
                         rows[i].told && rows[i].odd == u, "%s: %s", rows[i].what,
                         outcome_codes(o));
        if (rows[i].told)
            cr_expect(outcome_has(o, "ecu-silent", units[rows[i].odd].address), "%s: %s",
                      rows[i].what, outcome_codes(o));
        else
            cr_expect(outcome_clean(o), "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* A terminal that sends every 1.2 s makes many pauses of a bus that has nobody else. */
Test(diagnosis_power, whoever_stays_awake_may_speak_seldom)
{
    struct story *s = story_new();

    for (int u = 0; u < UNITS; u++) {
        story_claim(s, 0.1 + 0.1 * u, units[u].address, units[u].name);
        talk(s, u, 0.6, units[u].to);
        boot(s, u, BACK + units[u].after, true);
    }
    story_beat(s, story_id(6, 65301, 255, 38), 1.2, 55, 66, zeros);
    struct outcome *o = story_tell(s);

    cr_expect(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

/* All at once at 52 s, and back from 56 s on. */
struct cut {
    const char *what;
    bool claims;   /* all, as their first words */
    double asked;  /* the spreader starts anew then, and all answer it; 0: it does not */
    bool moving;
    enum dbr_severity gap;
};

static struct outcome *cut(const struct cut *c)
{
    struct story *s = story_new();
    profile *drive = c->moving ? drive_field : drive_stand;

    for (int u = 0; u < UNITS; u++) {
        double back = 56 + units[u].after;
        story_claim(s, 0.1 + 0.1 * u, units[u].address, units[u].name);
        if (u != TRACTOR)
            talk(s, u, 0.6, 52);
        if (u != TRACTOR)
            boot(s, u, back, c->claims);
        else if (c->claims)
            story_claim(s, back, 240, NAME_TRACTOR);
        if (c->asked > 0)
            story_claim(s, c->asked + 0.02 * (u + 1), units[u].address, units[u].name);
    }
    if (c->asked > 0)
        story_request(s, c->asked, 254, 255);
    story_ground(s, 240, drive, 1.0, 0.6, 52);
    story_ground(s, 240, drive, 1.0, 56.35, 110);
    for (int part = 0; part < 2; part++)
        story_beat(s, story_id(3, 51968, 247, 141), 0.5, part ? 57.2 : 6, part ? 90 : 52,
                   "13008D0001000000"); /* DDI 141: at work */
    return story_tell(s);
}

Test(diagnosis_power, a_gap_is_the_machine_or_the_recorder)
{
    static const struct cut rows[] = {
        {"all claim anew", true, 0, false, DBR_NOTE},
        {"all claim anew, in the middle of a drive", true, 0, true, DBR_WARNING},
        {"nobody claims", false, 0, false, DBR_WARNING},
        {"one starts a second later, and all answer it", false, 57.8, false, DBR_WARNING},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = cut(&rows[i]);
        const struct dbr_finding *gap = outcome_finding(o, "recording-gap", -1);
        cr_assert_not_null(gap, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(gap->severity, rows[i].gap, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(strstr(gap->title, "no power") != NULL, rows[i].claims, "%s: %s",
                     rows[i].what, gap->title);
        cr_expect_eq(strstr(gap->title, "while moving") != NULL, rows[i].moving, "%s",
                     rows[i].what);
        outcome_free(o);
    }
}

/* A bus that goes dark while another one goes on lost its power by itself: no key does that. */
Test(diagnosis_power, the_key_is_that_of_all_buses)
{
    for (int other_goes_on = 0; other_goes_on < 2; other_goes_on++) {
        struct story *s = story_new();
        for (int u = 0; u < UNITS; u++) {
            story_claim(s, 0.1 + 0.1 * u, units[u].address, units[u].name);
            talk(s, u, 0.6, units[u].to);
            boot(s, u, BACK + units[u].after, true);
        }
        story_on(s, 1);
        story_beat(s, story_id(6, 65300, 255, 3), 0.1, 0, other_goes_on ? 110 : 53, zeros);
        story_beat(s, story_id(6, 65300, 255, 3), 0.1, BACK, 110, zeros);
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "ecu-silent", 0), other_goes_on, "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/* A machine without a tractor ECU at the end of a recording, and who goes on until 110 s. */
struct evening {
    const char *what;
    double engine_to, others_to;
    bool moving;
    uint8_t awake; /* beside the terminal and the controller; 0: nobody */
    bool clean;
};

static struct outcome *finish_work(const struct evening *e)
{
    static const uint64_t navigation = UINT64_C(0x80001700FFE00004); /* function 23, group 0 */
    static const uint8_t ended[] = {141, 142};
    static const uint8_t staying[] = {38, 247};
    profile *drive = e->moving ? drive_field : drive_stand;
    struct story *s = story_new();

    story_claim(s, 0.1, 0, UINT64_C(0x00000000FFE00005)); /* function 0: engine */
    story_claim(s, 0.2, 28, navigation);
    story_claim(s, 0.3, 141, NAME_SPREADER);
    story_claim(s, 0.35, 38, UINT64_C(0xA0001D00FFE00006)); /* terminal */
    talk(s, ENGINE, 0.6, e->engine_to);
    story_gnss(s, 28, drive, 1.0, 0.6, e->others_to);
    for (size_t i = 0; i < 2; i++) {
        story_beat(s, story_id(6, 65300, 255, ended[i]), 0.1, 0.6, e->others_to, zeros);
        story_beat(s, story_id(6, 65300, 255, staying[i]), 1.0, 0.6, 110, zeros);
    }
    if (e->awake > 0)
        story_beat(s, story_id(6, 65301, 255, e->awake), 0.1, 0.6, 110, zeros);
    return story_tell(s);
}

static bool leaves_open(const struct outcome *o, const char *words)
{
    const struct dbr_lines *lines = &o->diagnosis->cannot_tell;

    for (size_t i = 0; i < lines->count; i++)
        if (strstr(lines->items[i], words))
            return true;
    return false;
}

/* The engine first, the rest seconds later, while some stay awake: the key. */
Test(diagnosis_power, a_terminal_may_outlast_the_key)
{
    static const struct evening rows[] = {
        {"the engine, then the rest", 51, 52.5, false, 0, true},
        {"a plug that holds them all", 52, 52, false, 0, false},
        {"the engine last", 54, 52.5, false, 0, false},
        {"in the middle of a drive", 51, 52.5, true, 0, false},
        {"the tractor ECU goes on", 51, 52.5, false, 240, false},
        {"another implement goes on", 51, 52.5, false, 150, false},
        {"the engine alone", 51, 110, false, 0, false},
        {"the rest alone", 110, 52.5, false, 0, false},
        {"the rest long after the engine", 51, 75, false, 0, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = finish_work(&rows[i]);
        cr_expect_eq(outcome_clean(o), rows[i].clean, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(leaves_open(o, "no message tells of the key"), rows[i].clean, "%s",
                     rows[i].what);
        outcome_free(o);
    }
}
