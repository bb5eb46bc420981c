/* What a description adds to the diagnosis: names of elements, and why a link is unknown. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/pool.h"
#include "support/repair.h"
#include "support/story_long.h"

#define PROCESS_DATA 51968u
#define SPREADER 128u
#define CONTROLLER 247u

static const uint32_t to_controller = 0x0CCBF780u, to_spreader = 0x0CCB80F7u;

/* A value of process data: command 3, element, DDI, value; every second while it drives. */
static void value(struct story *s, uint32_t id, unsigned element, unsigned ddi, uint32_t raw)
{
    char hex[40];

    snprintf(hex, sizeof hex, "%X3%02X%02X%02X%02X%02X%02X%02X", element & 0xFu, element >> 4,
             ddi & 0xFFu, ddi >> 8, raw & 0xFFu, raw >> 8 & 0xFFu, raw >> 16 & 0xFFu, raw >> 24);
    story_beat(s, id, 1.0, 14, 90, hex);
}

/* A spreader on the move that is asked for 180 kg/ha by both belts, and works. */
static struct story *drive(void)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_claim(s, 0.5, SPREADER, NAME_SPREADER);
    story_wheel(s, 240, drive_field, 1.0, 0, 90);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_beat(s, story_id(3, PROCESS_DATA, 255, CONTROLLER), 2.0, 0.6, 90, "FEFFFFFF0000FFFF");
    value(s, to_spreader, 3, 6, 18000);
    value(s, to_spreader, 4, 6, 18000);
    value(s, to_spreader, 1, 289, 1);
    return s;
}

static void describe(struct story *s, const struct bytes *objects)
{
    struct bytes message = {0};

    bytes_integer(&message, 0x61, 1);
    bytes_add(&message, objects->data, objects->length);
    story_long(s, 8.0,
               &(struct long_message){.from = SPREADER,
                                      .to = CONTROLLER,
                                      .pgn = PROCESS_DATA,
                                      .data = message.data,
                                      .length = message.length});
    story_frame(s, 12.0, story_id(5, PROCESS_DATA, CONTROLLER, SPREADER), "81FFFFFFFFFFFFFF");
    bytes_free(&message);
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

/* The right belt puts nothing out: it is named, and the left one is not. */
Test(diagnosis_described, a_rate_that_is_missing_is_placed)
{
    for (int described = 0; described < 2; described++) {
        struct story *s = drive();
        struct bytes b = {0};
        pool_spreader(&b, NULL);
        if (described)
            describe(s, &b);
        value(s, to_controller, 3, 7, 18000);
        value(s, to_controller, 4, 7, 0);
        value(s, to_controller, 1, 141, 1);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *rate = outcome_finding(o, "rate-missing", SPREADER);
        cr_assert_not_null(rate, "%s", outcome_codes(o));
        cr_expect(says(rate, described ? "without a rate: element 4 \"Right belt\""
                                       : "without a rate: element 4"));
        cr_expect_not(says(rate, "element 3"));
        outcome_free(o);
        bytes_free(&b);
    }
}

/* Activation is refused (ISO 11783-10, object pool activate response): object 20 of parent 3 has
 * a reference that leads nowhere. The work lacks its effect because of that. */
Test(diagnosis_described, a_refused_description_is_why_a_rate_is_missing)
{
    struct story *s = drive();
    struct bytes b = {0};

    pool_spreader(&b, NULL);
    describe(s, &b);
    story_frame(s, 12.1, story_id(5, PROCESS_DATA, SPREADER, CONTROLLER), "9101030014000200");
    value(s, to_controller, 3, 7, 0);
    value(s, to_controller, 1, 141, 1);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *rate = outcome_finding(o, "rate-missing", SPREADER);

    const struct dbr_finding *refused = outcome_finding(o, "description-refused", SPREADER);

    cr_assert(rate && refused, "%s", outcome_codes(o));
    cr_expect_eq(refused->severity, DBR_WARNING);
    cr_expect(says(refused, "object 20 of parent 3: unknown reference"));
    cr_expect_float_eq((double)refused->start_ns / 1e9, 12.1, 0.01);
    cr_expect(outcome_because(o, rate, refused));
    outcome_free(o);
    bytes_free(&b);
}

/* What was refused and then taken, and what is asked for and never answered, are no finding. */
Test(diagnosis_described, a_description_that_is_taken_at_last_was_not_refused)
{
    static const struct {
        const char *answer, *second;
    } rows[] = {{"9101030014000200", "9100FFFFFFFF00FF"}, {NULL, NULL}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = drive();
        struct bytes b = {0};
        pool_spreader(&b, NULL);
        describe(s, &b);
        if (rows[i].answer)
            story_frame(s, 12.1, story_id(5, PROCESS_DATA, SPREADER, CONTROLLER), rows[i].answer);
        if (rows[i].second) {
            story_frame(s, 20, story_id(5, PROCESS_DATA, CONTROLLER, SPREADER), "81FFFFFFFFFFFFFF");
            story_frame(s, 20.1, story_id(5, PROCESS_DATA, SPREADER, CONTROLLER), rows[i].second);
        }
        struct outcome *o = story_tell(s);
        cr_expect_not(outcome_has(o, "description-refused", SPREADER), "row %zu", i);
        outcome_free(o);
        bytes_free(&b);
    }
}

/* A drive in which the controller answers the activation so; NULL: the implement tells nothing. */
static struct outcome *answered(const char *answer)
{
    struct story *s = drive();
    struct bytes b = {0};

    pool_spreader(&b, NULL);
    if (answer) {
        describe(s, &b);
        story_frame(s, 12.1, story_id(5, PROCESS_DATA, SPREADER, CONTROLLER), answer);
    }
    bytes_free(&b);
    return story_tell(s);
}

Test(diagnosis_described, only_a_description_in_force_proves_that_it_is_taken_now)
{
    static const struct {
        const char *answer;
        enum dbr_change change;
    } rows[] = {{"9100FFFFFFFF00FF", DBR_CHANGE_GONE},
                {"9101030014000200", DBR_CHANGE_STILL},
                {NULL, DBR_CHANGE_CANNOT_TELL}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].answer ? rows[i].answer : "untold", answered("9101030014000200"),
                      answered(rows[i].answer), "description-refused", rows[i].change, NULL);
}

static enum dbr_link_reason last_reason(const struct outcome *o, enum dbr_link link)
{
    cr_assert_eq(o->history->implement_count, 1);
    const struct dbr_link_story *story = &o->history->implements[0].links[link];

    cr_assert_gt(story->count, 0);
    cr_assert_eq(story->items[story->count - 1].answer, DBR_ANSWER_UNKNOWN);
    return story->items[story->count - 1].reason;
}

/* An implement that sends no work state and turns no meters that we see: unknown, with the reason
 * that its description gives; no finding in any case. */
Test(diagnosis_described, why_a_link_is_unknown)
{
    static const struct {
        const char *what;
        bool described, cut, work_state, meter;
        enum dbr_link_reason coverage, metering;
    } rows[] = {
        {"no description", false, false, false, false, DBR_REASON_NOTHING_SEEN,
         DBR_REASON_NOTHING_SEEN},
        {"neither is described", true, false, false, false, DBR_REASON_NOT_DESCRIBED,
         DBR_REASON_NOT_DESCRIBED},
        {"both are, and never sent", true, false, true, true, DBR_REASON_NEVER_SENT,
         DBR_REASON_NEVER_SENT},
        {"a description that breaks off proves nothing", true, true, false, false,
         DBR_REASON_NOTHING_SEEN, DBR_REASON_NOTHING_SEEN},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = drive();
        struct bytes b = {0};
        pool_device(&b, &(struct pool_device){"A", "B", "C", NAME_SPREADER, "1234567", "1234567",
                                              NULL});
        pool_element(&b, 1, 1, "Whole", 0, 0, NULL, 0);
        pool_data(&b, 2, rows[i].work_state ? 141 : 116, 1, 8, "", 0xFFFF);
        pool_data(&b, 3, rows[i].meter ? 390 : 117, 1, 8, "", 0xFFFF);
        if (rows[i].cut)
            b.length -= 2;
        if (rows[i].described)
            describe(s, &b);
        value(s, to_controller, 3, 7, 18000);
        value(s, to_controller, 4, 7, 18000);
        struct outcome *o = story_tell(s);
        cr_expect(outcome_clean(o), "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(last_reason(o, DBR_LINK_COVERAGE), rows[i].coverage, "%s", rows[i].what);
        cr_expect_eq(last_reason(o, DBR_LINK_METERING), rows[i].metering, "%s", rows[i].what);
        outcome_free(o);
        bytes_free(&b);
    }
}

/* The boom's width serves the bins, which have none of their own. */
Test(diagnosis_described, a_meter_takes_the_width_from_the_description)
{
    for (int described = 0; described < 2; described++) {
        struct story *s = drive();
        struct bytes b = {0};
        pool_spreader(&b, "");
        if (described)
            describe(s, &b);
        value(s, to_controller, 3, 7, 18000);
        value(s, to_controller, 1, 141, 1);
        struct outcome *o = story_tell(s);
        const struct dbr_implement *i = &o->history->implements[0];
        cr_assert_geq(i->meter_count, 1);
        if (described)
            cr_expect_float_eq(i->meters[0].width_m, 24.0, 1e-6);
        else
            cr_expect(isnan(i->meters[0].width_m));
        outcome_free(o);
        bytes_free(&b);
    }
}
