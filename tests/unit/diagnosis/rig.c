/* rig.c - which ECU of a recording is which of the rig, and what a meter should turn. */
#include <criterion/criterion.h>
#include <math.h>

#include "drawbar/rig.h"

static struct dbr_rig *spreader(void)
{
    struct dbr_error error;
    struct dbr_rig *rig = dbr_rig_load(SOURCE_DIRECTORY "/samples/spreader-rig.json", &error);

    cr_assert_not_null(rig, "%s", error.text);
    return rig;
}

static const char *label_of(const struct dbr_rig *rig, uint8_t address, uint64_t name)
{
    struct dbr_ecu ecu = {.address = address, .name_count = name ? 1 : 0, .names = {name}};
    int at = dbr_rig_find(rig, &ecu);
    return at < 0 ? "none" : rig->ecus[at].label;
}

Test(diagnosis_rig, ecus_are_known_by_what_the_rig_says_of_them)
{
    struct dbr_rig *rig = spreader();

    /* by address, whatever it is called */
    cr_assert_str_eq(label_of(rig, 0, 0), "engine");
    /* by fields of the NAME, at any address: class 5 function 128 is 0xA00A8000... */
    cr_assert_str_eq(label_of(rig, 128, 0xA00A8000FFE00002), "belt controller");
    cr_assert_str_eq(label_of(rig, 201, 0xA00A8000FFE00002), "belt controller");
    cr_assert_str_eq(label_of(rig, 128, 0), "none");
    /* by the whole NAME: two units of one design, told apart */
    cr_assert_str_eq(label_of(rig, 150, 0xA00A8100FFE00FE9), "left boom unit");
    cr_assert_str_eq(label_of(rig, 150, 0xA00A8108FFE00FEA), "right boom unit");
    cr_assert_str_eq(label_of(rig, 150, 0xA00A8108FFE00FEB), "none");
    dbr_rig_free(rig);
}

/*
 * Mass flow = rate x width x speed (the definition of rate, mass per area); by hand:
 * 180 kg/ha x 24 m x 3 m/s = 0.018 x 72 = 1.296 kg/s; at 0.92 kg a turn 1.4087 turns/s.
 */
Test(diagnosis_rig, turns_that_a_rate_asks_for)
{
    struct dbr_rig *rig = spreader();
    struct dbr_meter meter = {.setpoint_kg_m2 = 0.018, .speed_mps = 3.0};

    cr_assert_float_eq(dbr_rig_expected_turns(rig, 0, &meter), 1.4087, 0.0001);
    /* and back: so many turns give that rate */
    meter.turns_per_s = 1.4087;
    cr_assert_float_eq(dbr_rig_metered_rate(rig, 0, &meter), 0.018, 0.00001);
    cr_assert(isnan(dbr_rig_metered_rate(rig, 2, &meter)), "no such product");
    meter.speed_mps = NAN;
    cr_assert(isnan(dbr_rig_metered_rate(rig, 0, &meter)));
    cr_assert(isnan(dbr_rig_expected_turns(rig, 0, &meter)));
    meter.speed_mps = 3.0;
    cr_assert(isnan(dbr_rig_expected_turns(rig, 2, &meter)), "no such product");
    dbr_rig_free(rig);
}
