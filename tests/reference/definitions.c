/*
 * The built-in definitions: every one is proved by its own examples, and the
 * groups that the diagnosis rests on are there with their roles.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "drawbar/definitions.h"
#include "support/proven.h"

static struct dbr_definitions *definitions;

static void set_up(void)
{
    struct dbr_error error = {0};

    definitions = dbr_definitions_new(&error);
    cr_assert_not_null(definitions, "%s", error.text);
}

static void tear_down(void)
{
    dbr_definitions_free(definitions);
}

TestSuite(reference_definitions, .init = set_up, .fini = tear_down);

Test(reference_definitions, every_definition_holds_what_its_examples_say)
{
    cr_assert_gt(dbr_definitions_count(definitions), 0);
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *m = dbr_definitions_at(definitions, i);
        struct dbr_error error = {0};
        /* only a name that says why it is all that is known has nothing to prove */
        cr_expect(m->example_count > 0 || (m->name_only && m->signal_count == 0),
                  "PGN %u has no example", m->pgn);
        cr_expect_eq(message_prove(m, &error), 0, "%s", error.text);
    }
}

Test(reference_definitions, every_definition_has_a_source_and_a_length)
{
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *m = dbr_definitions_at(definitions, i);
        cr_expect(strstr(m->source, "ISO 11783") || strstr(m->source, "J1939") ||
                      strstr(m->source, "NMEA 2000"),
                  "PGN %u names no standard: %s", m->pgn, m->source);
        /* only what may take several frames has a length of its own each time */
        cr_expect(m->length > 0 || m->packing != DBR_PACKING_SINGLE, "PGN %u", m->pgn);
        cr_expect_null(strchr(m->file, '/'));
        for (size_t k = 0; k < m->example_count; k++)
            cr_expect_gt(strlen(m->examples[k].source), 0, "PGN %u", m->pgn);
    }
}

/* Every signal is proved by at least one example, so that a wrong place cannot hide. */
static bool is_exemplified(const struct dbr_message *m, size_t signal)
{
    for (size_t k = 0; k < m->example_count; k++)
        for (size_t n = 0; n < m->examples[k].expect_count; n++)
            if (m->examples[k].expect[n].signal == signal)
                return true;
    return false;
}

Test(reference_definitions, every_signal_stands_in_an_example)
{
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *m = dbr_definitions_at(definitions, i);
        for (size_t k = 0; k < m->signal_count; k++)
            cr_expect(is_exemplified(m, k), "PGN %u: no example of \"%s\"", m->pgn,
                      m->signals[k].name);
    }
}

/* Roles and their SPNs: ISO 11783-7 and SAE J1939-71; 129026 of NMEA 2000 has none. */
Test(reference_definitions, roles)
{
    static const struct {
        uint32_t pgn, spn;
        enum dbr_role role;
    } rows[] = {
        {65096, 1862, DBR_ROLE_SPEED_WHEEL},      {65096, 1863, DBR_ROLE_DISTANCE_WHEEL},
        {65096, 1864, DBR_ROLE_DIRECTION_WHEEL},  {65096, 1865, DBR_ROLE_SUPPLY_KEY},
        {65097, 1859, DBR_ROLE_SPEED_GROUND},     {65097, 1860, DBR_ROLE_DISTANCE_GROUND},
        {65097, 1861, DBR_ROLE_DIRECTION_GROUND}, {61474, 4305, DBR_ROLE_SPEED_SELECTED},
        {61474, 4306, DBR_ROLE_DISTANCE_SELECTED}, {61474, 4309, DBR_ROLE_DIRECTION_SELECTED},
        {61474, 4308, DBR_ROLE_SELECTION_SOURCE}, {65265, 84, DBR_ROLE_SPEED_VEHICLE},
        {65256, 517, DBR_ROLE_SPEED_NAVIGATION},  {129026, 0, DBR_ROLE_SPEED_GNSS},
        {65271, 168, DBR_ROLE_SUPPLY_VOLTAGE},    {65093, 1877, DBR_ROLE_WORK_LOWERED},
        {65093, 1873, DBR_ROLE_HITCH_POSITION},   {65094, 1872, DBR_ROLE_HITCH_POSITION},
        {65094, 1876, DBR_ROLE_WORK_LOWERED},     {65091, 2408, DBR_ROLE_DRIVE_ENGAGED},
        {65092, 1888, DBR_ROLE_DRIVE_ENGAGED},
    };
    size_t with_role = 0;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct dbr_message *m = dbr_definitions_find(definitions, rows[i].pgn, 0, NULL, NULL);
        size_t found = 0;
        cr_assert_not_null(m, "PGN %u", rows[i].pgn);
        for (size_t k = 0; k < m->signal_count; k++)
            found += m->signals[k].role == rows[i].role && m->signals[k].spn == rows[i].spn;
        cr_expect_eq(found, 1, "PGN %u, role %s", rows[i].pgn, dbr_role_name(rows[i].role));
    }
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++)
        for (size_t k = 0; k < dbr_definitions_at(definitions, i)->signal_count; k++)
            with_role += dbr_definitions_at(definitions, i)->signals[k].role != DBR_ROLE_NONE;
    cr_expect_eq(with_role, sizeof rows / sizeof rows[0], "a role that this table does not know");
}

static double si_of(uint32_t pgn, enum dbr_role role, const uint8_t data[8])
{
    const struct dbr_message *m = dbr_definitions_find(definitions, pgn, 0, NULL, NULL);

    for (size_t k = 0; k < m->signal_count; k++)
        if (m->signals[k].role == role)
            return dbr_signal_decode(&m->signals[k], data, 8).number * m->signals[k].si_factor;
    return -1;
}

/* Worked from the scalings of SPN 84 (1/256 km/h) and SPN 1862 (0.001 m/s): raw / 921.6 is m/s. */
Test(reference_definitions, two_speeds_in_one_unit)
{
    const uint8_t vehicle[8] = {0xFF, 0x00, 0x0C, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};
    const uint8_t wheel[8] = {0xB8, 0x0B, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF};

    cr_expect_float_eq(si_of(65265, DBR_ROLE_SPEED_VEHICLE, vehicle), 0x0C00 / 921.6, 1e-9);
    cr_expect_float_eq(si_of(65096, DBR_ROLE_SPEED_WHEEL, wheel), 3.0, 1e-9);
}

/* Unconditional periods: ISO 11783-7; NMEA 2000 for 129025 and 129026. */
Test(reference_definitions, periods)
{
    static const struct {
        uint32_t pgn, period_ms;
    } rows[] = {{65096, 100}, {65097, 100}, {61474, 100}, {129026, 250}, {129025, 100},
                {65093, 100}, {65094, 100}, {65091, 0},   {65092, 0},    {61444, 0},
                {60928, 0},   {59904, 0}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(dbr_definitions_find(definitions, rows[i].pgn, 0, NULL, NULL)->period_ms,
                     rows[i].period_ms, "PGN %u", rows[i].pgn);
}
