/*
 * rig_read.c - rigs as people write them: what is taken, and what is refused, with file, line,
 * column and reason; and the draft that a recording gives.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/rigged.h"
#include "support/story_told.h"

static void expect_refused(const char *text, const char *place, const char *message)
{
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX], head[512];
    struct dbr_rig *rig = rig_of_text(text, path, &error);

    cr_assert_null(rig, "%s", text);
    snprintf(head, sizeof head, "%s:1:%zu: %s", path, (size_t)(strstr(text, place) - text) + 1,
             message);
    cr_expect_eq(strncmp(error.text, head, strlen(head)), 0, "%s\nnot %s", error.text, head);
}

#define RIG "{\"schema\": \"drawbar-rig/1\", \"name\": \"x\", \"sections\": "
#define ECU RIG "[{\"name\": \"frame\", \"ecus\": [{\"label\": \"belt\", "
#define CLOSE "}]}]}"

Test(diagnosis_rig_read, mistakes_are_refused_with_their_place)
{
    /* text; where the mistake stands; what is said of it */
    static const char *const rows[][3] = {
        {"[]", "[", "an object { } must stand here"},
        {"{\"schema\": 1}", "1", "\"schema\" must be a text"},
        {"{\"name\": \"x\"}", "{", "\"schema\" is missing"},
        {"{\"schema\": \"drawbar-rig/1\"}", "{", "\"name\" is missing"},
        {"{\"schema\": \"drawbar-rig/2\", \"name\": \"x\"}", "\"drawbar-rig/2\"",
         "the schema must be \"drawbar-rig/1\""},
        {"{\"schema\": \"drawbar-rig/1\", \"name\": \"x\"}", "{", "\"sections\" is missing"},
        {RIG "{}}", "{}}", "\"sections\" must be an array"},
        {RIG "[], \"width\": 24}", "\"width\"", "\"width\" is not a known key"},
        {RIG "[7]}", "7", "an object { } must stand here"},
        {RIG "[{\"ecus\": []}]}", "{\"ecus\"", "\"name\" is missing"},
        {RIG "[{\"name\": \"frame\"}]}", "{\"name\": \"frame\"", "\"ecus\" is missing"},
        {RIG "[{\"name\": \"frame\", \"ecus\": 3}]}", "3", "\"ecus\" must be an array"},
        {RIG "[{\"name\": \"frame\", \"ecus\": [{\"address\": 3}]}]}", "{\"address\"",
         "\"label\" is missing"},
        {ECU "\"adress\": 3" CLOSE, "\"adress\"", "\"adress\" is not a known key"},
        {ECU "\"address\": 254" CLOSE, "254", "\"address\" must be a whole number from 0 to 253"},
        {ECU "\"address\": 3, \"optional\": \"yes\"" CLOSE, "\"yes\"",
         "\"optional\" must be true or false"},
        {ECU "\"optional\": true" CLOSE, "{\"label\"", "how is it known"},
        {ECU "\"name\": 12" CLOSE, "12", "\"name\" must be a text"},
        {ECU "\"name\": \"A00A8100FFE00FE\"" CLOSE, "\"A00A", "a NAME has 16 hexadecimal digits"},
        {ECU "\"name\": \"A00A8100FFE00FE90\"" CLOSE, "\"A00A", "a NAME has 16 hexadecimal"},
        {ECU "\"name\": \"A00A8100FFE00FEX\"" CLOSE, "\"A00A", "a NAME has 16 hexadecimal"},
        {RIG "[], \"recorder_in\": 1}", "1}", "\"recorder_in\" must be a text"},
        {RIG "[], \"recorder_in\": \"cab\"}", "\"cab\"", "no section has the name \"cab\""},
        {RIG "[], \"expects\": []}", "[]}", "an object { } must stand here"},
        {RIG "[], \"expects\": {\"sped\": []}}", "\"sped\"", "\"sped\" is not a known key"},
        {RIG "[], \"expects\": {\"speed\": \"gnss\"}}", "\"gnss\"", "\"speed\" must be an array"},
        {RIG "[], \"expects\": {\"speed\": [5]}}", "5]", "a kind of speed source"},
        {RIG "[], \"implement\": 24}", "24", "an object { } must stand here"},
        {RIG "[], \"implement\": {\"working_width_m\": \"24\"}}", "\"24\"",
         "\"working_width_m\" must be a number"},
        {RIG "[], \"implement\": {\"working_width_m\": 0}}", "0}}",
         "\"working_width_m\" must be above 0"},
        {RIG "[], \"implement\": {\"products\": 2}}", "2}", "\"products\" must be an array"},
        {RIG "[], \"implement\": {\"products\": [{}]}}", "{}]", "\"label\" is missing"},
        {RIG "[], \"implement\": {\"products\": [3]}}", "3]", "an object { } must stand here"},
        {RIG "[], \"implement\": {\"products\": [{\"label\": \"bin\","
         " \"mass_per_revolution_kg\": true}]}}", "true", "\"mass_per_revolution_kg\" must be a"},
        {RIG "[], \"implement\": {\"products\": [{\"label\": \"bin\","
         " \"mass_per_revolution_kg\": -0.9}]}}", "-0.9",
         "\"mass_per_revolution_kg\" must be above 0"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect_refused(rows[i][0], rows[i][1], rows[i][2]);
}

Test(diagnosis_rig_read, what_is_no_json_at_all)
{
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX];

    cr_assert_null(rig_of_text("{\"schema\": ", path, &error));
    cr_expect_eq(error.code, DBR_ERROR_SYNTAX, "%s", error.text);
    cr_expect_null(dbr_rig_load("no/such/rig.json", &error));
    cr_expect(strstr(error.text, "no/such/rig.json"), "%s", error.text);
}

/* `count` times `each` in a list, between two texts. */
static char *list_of(const char *before, const char *each, unsigned count, const char *after)
{
    size_t size = strlen(before) + count * (strlen(each) + 2) + strlen(after) + 1;
    char *text = malloc(size);
    size_t used = (size_t)snprintf(text, size, "%s", before);

    for (unsigned i = 0; i < count; i++)
        used += (size_t)snprintf(text + used, size - used, "%s%s", i ? ", " : "", each);
    snprintf(text + used, size - used, "%s", after);
    return text;
}

Test(diagnosis_rig_read, a_rig_has_so_many_parts_and_no_more)
{
    static const struct {
        const char *before, *each, *after, *message;
        unsigned most;
    } rows[] = {
        {RIG "[", "{\"name\": \"s\", \"ecus\": []}", "]}", "more than 32 sections",
         DBR_RIG_SECTIONS_MAX},
        {RIG "[{\"name\": \"s\", \"ecus\": [", "{\"label\": \"e\", \"address\": 3}", "]}]}",
         "more than 128 ECUs", DBR_RIG_ECUS_MAX},
        {RIG "[], \"implement\": {\"products\": [", "{\"label\": \"p\"}", "]}}",
         "more than 16 products", DBR_RIG_PRODUCTS_MAX},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (unsigned more = 0; more < 2; more++) {
            struct dbr_error error = {0};
            char path[RIG_PATH_MAX];
            char *text = list_of(rows[i].before, rows[i].each, rows[i].most + more, rows[i].after);
            struct dbr_rig *rig = rig_of_text(text, path, &error);
            cr_expect_eq(rig == NULL, more == 1, "%s", error.text);
            cr_expect(!more || strstr(error.text, rows[i].message), "%s", error.text);
            dbr_rig_free(rig);
            free(text);
        }
}

/* Whatever is not told is not known: no width, no product figures, no place of the recorder. */
Test(diagnosis_rig_read, the_least_that_a_rig_says)
{
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX];
    struct dbr_rig *rig = rig_of_text(RIG "[], \"expects\": {}, \"implement\": {\"products\": "
                                   "[{\"label\": \"bin\"}]}}", path, &error);
    struct dbr_meter meter = {
        .setpoint_kg_m2 = 0.018, .speed_mps = 3, .turns_per_s = 1, .width_m = 24};

    cr_assert_not_null(rig, "%s", error.text);
    cr_expect_eq(rig->recorder_in, -1);
    cr_expect_eq(rig->speed_kinds, 0);
    cr_expect(isnan(rig->working_width_m));
    cr_expect(isnan(dbr_rig_expected_turns(rig, 0, &meter)), "nobody said what a turn puts out");
    rig->products[0].mass_per_revolution_kg = 0.9;
    /* 0.018 kg/m2 x 24 m x 3 m/s = 1.296 kg/s, 1.44 turns/s; the width is the implement's */
    cr_expect_float_eq(dbr_rig_expected_turns(rig, 0, &meter), 1.44, 1e-9);
    cr_expect_float_eq(dbr_rig_metered_rate(rig, 0, &meter), 0.0125, 1e-9);
    meter.width_m = NAN;
    cr_expect(isnan(dbr_rig_expected_turns(rig, 0, &meter)), "no width at all");
    cr_expect(isnan(dbr_rig_metered_rate(rig, 0, &meter)));
    meter.width_m = 24;
    meter.speed_mps = 0;
    cr_expect(isnan(dbr_rig_metered_rate(rig, 0, &meter)), "what stands covers nothing");
    cr_expect(isnan(dbr_rig_expected_turns(NULL, 0, &meter)), "no rig");
    cr_expect(isnan(dbr_rig_metered_rate(NULL, 0, &meter)));
    dbr_rig_free(rig);
    dbr_rig_free(NULL);
}

/* What a recording gives as a draft is a rig, and names only speeds that are sound. */
Test(diagnosis_rig_read, a_draft_of_a_recording_is_a_rig)
{
    struct story *s = story_field(0.0); /* the axle sensor is dead */
    story_text(s, 2, 128, 65259, "M*the \"big\" one \\ two*S1*3*");
    struct outcome *o = story_tell(s);
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX], text[4096] = "";
    FILE *out = fmemopen(text, sizeof text, "w");

    cr_assert_eq(dbr_rig_draft(out, o->history, &error), 0);
    fclose(out);
    struct dbr_rig *rig = rig_of_text(text, path, &error);
    cr_assert_not_null(rig, "%s", error.text);
    cr_expect_eq(rig->section_count, 2);
    cr_expect_str_eq(rig->sections[rig->recorder_in], "tractor");
    cr_expect_eq(rig->speed_kinds,
                 1u << DBR_SPEED_WHEEL | 1u << DBR_SPEED_GROUND | 1u << DBR_SPEED_GNSS);
    for (size_t i = 0; i < o->history->ecu_count; i++)
        cr_expect_geq(dbr_rig_find(rig, &o->history->ecus[i]), 0, "%zu", i);
    dbr_rig_free(rig);
    FILE *full = fopen("/dev/full", "w");
    cr_expect_lt(dbr_rig_draft(full, o->history, &error), 0);
    cr_expect_eq(error.code, DBR_ERROR_WRITE);
    fclose(full);
    outcome_free(o);
}
