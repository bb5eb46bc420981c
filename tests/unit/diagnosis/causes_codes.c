/*
 * causes_codes.c - trouble codes: which of them explain another finding, and which are explained.
 * SPN and FMI: SAE J1939-71 and J1939-73 appendix A; those of speeds: ISO 11783-7.
 */
#include <criterion/criterion.h>

#include "support/pair.h"

struct row {
    uint32_t spn;
    uint8_t fmi;
    int kind;
    bool linked;
};

/* The sender of a dead speed says why: an electrical code about what stands behind that speed. */
Test(diagnosis_causes_codes, the_sender_of_a_dead_speed_says_why)
{
    static const struct row rows[] = {
        {84, 3, DBR_SPEED_VEHICLE, true},     {84, 4, DBR_SPEED_WHEEL, true},
        {84, 5, DBR_SPEED_GROUND, false},     {191, 5, DBR_SPEED_VEHICLE, true},
        {904, 6, DBR_SPEED_WHEEL, true},      {910, 5, DBR_SPEED_WHEEL, true},
        {903, 5, DBR_SPEED_WHEEL, false},     {911, 5, DBR_SPEED_WHEEL, false},
        {1859, 5, DBR_SPEED_GROUND, true},    {1861, 5, DBR_SPEED_GROUND, true},
        {1862, 5, DBR_SPEED_WHEEL, true},     {1862, 5, DBR_SPEED_GROUND, false},
        {517, 5, DBR_SPEED_NAVIGATION, true}, {4305, 5, DBR_SPEED_SELECTED, true},
        {4309, 5, DBR_SPEED_SELECTED, true},  {4310, 5, DBR_SPEED_SELECTED, false},
        {1862, 2, DBR_SPEED_WHEEL, false},    {1862, 7, DBR_SPEED_WHEEL, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "speed-stuck-zero", "fault-code-active");
        pair_code(&p, &p.cause, rows[i].spn, rows[i].fmi);
        p.effect.kind = rows[i].kind;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "SPN %u FMI %u", rows[i].spn, rows[i].fmi);
        p.trouble.code.older_layout = true;
        cr_expect_not(pair_linked(&p), "SPN %u is not certain", rows[i].spn);
    }
}

/* A speed that is merely off is no matter of a broken wire. */
Test(diagnosis_causes_codes, which_findings_about_a_speed_say_that_it_is_lacking)
{
    static const struct {
        const char *code;
        bool lacking;
    } rows[] = {
        {"speed-lost", true},           {"speed-error", true},    {"speed-stuck-zero", true},
        {"speed-not-available", true},  {"speed-frozen", true},   {"speed-erratic", true},
        {"speed-disagrees", false},     {"speed-missing", false}, {"speed-source-changed", false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, rows[i].code, "fault-code-active");
        pair_code(&p, &p.cause, 1862, 5);
        p.effect.kind = DBR_SPEED_WHEEL;
        cr_expect_eq(pair_linked(&p), rows[i].lacking, "%s", rows[i].code);
        pair_begin(&p, "fault-code-active", rows[i].code);
        pair_code(&p, &p.effect, 1862, 2);
        p.cause.kind = DBR_SPEED_WHEEL;
        cr_expect_eq(pair_linked(&p), rows[i].lacking, "%s", rows[i].code);
    }
}

/* A code that only repeats that the speed is bad follows from it: of its sender any that is not
 * electrical, of others that they do not get it. */
Test(diagnosis_causes_codes, a_code_that_repeats_what_the_speed_shows)
{
    static const struct {
        uint32_t spn;
        uint8_t fmi;
        int address; /* 140 sends the speed */
        bool linked;
    } rows[] = {
        {1862, 2, 140, true},   {1862, 5, 140, false}, {1863, 10, 140, true}, {190, 2, 140, false},
        {1862, 2, 141, false},  {1862, 9, 141, true},  {1862, 19, 141, true},
        {1862, 18, 141, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "fault-code-active", "speed-erratic");
        pair_code(&p, &p.effect, rows[i].spn, rows[i].fmi);
        p.effect.seen.address = rows[i].address;
        p.cause.kind = DBR_SPEED_WHEEL;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "row %zu", i);
        p.trouble.code.older_layout = true;
        cr_expect_not(pair_linked(&p), "row %zu: its SPN is not certain", i);
    }
}

/* SPN 2000 + address: the messages of that ECU are missed. */
Test(diagnosis_causes_codes, whose_messages_a_code_misses)
{
    static const struct {
        uint32_t spn;
        int address;       /* of the silent one; -1: a section of 160 and 161 */
        bool older, linked;
    } rows[] = {
        {2160, 160, false, true},  {2160, 161, false, false}, {2160, 160, true, false},
        {1999, 160, false, false}, {2161, -1, false, true},   {2160, -1, false, true},
        {2162, -1, false, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "fault-code-active",
                   rows[i].address < 0 ? "harness-section-silent" : "ecu-silent");
        pair_code(&p, &p.effect, rows[i].spn, 9);
        p.trouble.code.older_layout = rows[i].older;
        p.cause.seen.address = rows[i].address;
        for (uint8_t a = 160; rows[i].address < 0 && a < 162; a++)
            found_address(&p.cause, a);
        cr_expect_eq(pair_linked(&p), rows[i].linked, "row %zu", i);
    }
}

/* What the rig expects and nobody heard has no bus. */
Test(diagnosis_causes_codes, an_ecu_that_was_never_there_is_missed_on_every_bus)
{
    struct pair p;

    pair_begin(&p, "fault-code-active", "ecu-missing");
    pair_code(&p, &p.effect, 2140, 9);
    p.cause.seen.interface = -1;
    cr_expect(pair_linked(&p));
    p.cause.seen.address = 141;
    cr_expect_not(pair_linked(&p));
}

/* Supplies of the machine and of its sensors, and the failure modes that mean "too low". */
Test(diagnosis_causes_codes, a_code_that_says_that_the_supply_is_low)
{
    static const struct row rows[] = {
        {168, 1, 0, true},    {168, 4, 0, true},    {168, 17, 0, true},  {168, 18, 0, true},
        {168, 3, 0, false},   {168, 16, 0, false},  {158, 1, 0, true},   {167, 1, 0, true},
        {627, 4, 0, true},    {620, 4, 0, true},    {1079, 4, 0, true},  {1080, 4, 0, true},
        {3508, 4, 0, false},  {3509, 4, 0, true},   {3514, 4, 0, true},  {3515, 4, 0, false},
        {190, 1, 0, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "fault-code-active", "supply-low");
        pair_code(&p, &p.effect, rows[i].spn, rows[i].fmi);
        cr_expect_eq(pair_linked(&p), rows[i].linked, "SPN %u FMI %u", rows[i].spn, rows[i].fmi);
        p.trouble.code.older_layout = true;
        cr_expect_not(pair_linked(&p), "SPN %u is not certain", rows[i].spn);
    }
}
