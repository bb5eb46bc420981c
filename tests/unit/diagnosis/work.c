/*
 * work.c - implements: what follows from a dead speed, and what is no fault.
 *
 * The implement here speaks one message of its own; a definition with roles is all
 * that tells the program what it means.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/repair.h"

static const char definition[] =
    "{ \"schema\": \"drawbar-messages/1\", \"subject\": \"belts\", \"source\": \"invented\","
    "  \"messages\": [ { \"pgn\": 65310, \"name\": \"Belts\", \"length\": 8, \"period_ms\": 100,"
    "  \"when\": {\"manufacturer_code\": 2047}, \"signals\": ["
    "  {\"name\": \"Axle speed\", \"byte\": 1, \"bits\": 16, \"scale\": 0.001, \"unit\": \"m/s\","
    "   \"role\": \"speed.implement\"},"
    "  {\"name\": \"Rate asked for\", \"byte\": 3, \"bits\": 16, \"scale\": 0.1, \"unit\": \"kg/ha\","
    "   \"role\": \"rate.setpoint\"},"
    "  {\"name\": \"Rate\", \"byte\": 5, \"bits\": 16, \"scale\": 0.1, \"unit\": \"kg/ha\","
    "   \"role\": \"rate.actual\"},"
    "  {\"name\": \"Works\", \"byte\": 7, \"bit\": 1, \"bits\": 2, \"role\": \"work.state\","
    "   \"states\": {\"0\": \"no\", \"1\": \"yes\", \"2\": \"error\", \"3\": \"not available\"}},"
    "  {\"name\": \"Lowered\", \"byte\": 7, \"bit\": 3, \"bits\": 2, \"role\": \"work.lowered\","
    "   \"states\": {\"0\": \"no\", \"1\": \"yes\", \"2\": \"error\", \"3\": \"not available\"}}],"
    "  \"examples\": [ {\"data\": \"B80B0807080705FF\", \"source\": \"worked by hand\","
    "  \"expect\": {\"Axle speed\": 3.0, \"Rate asked for\": 180, \"Works\": \"yes\"}} ] } ] }";

/* What the belts do: an axle that reads or not, a rate that is asked for, where it is lowered. */
struct belts {
    bool axle_dead;
    double setpoint; /* kg/ha */
    double lowered_from, lowered_to;
};

static void put16(uint8_t *at, double value)
{
    unsigned raw = (unsigned)lround(value);

    at[0] = (uint8_t)raw;
    at[1] = (uint8_t)(raw >> 8);
}

static bool fill_belts(double t, uint8_t data[8], void *context)
{
    const struct belts *b = context;
    double axle = b->axle_dead ? 0.0 : drive_field(t);
    bool lowered = t >= b->lowered_from && t < b->lowered_to;
    bool works = lowered && axle > 0.3 && b->setpoint > 0;

    put16(data, axle * 1000);
    put16(data + 2, b->setpoint * 10);
    put16(data + 4, works ? b->setpoint * 10 : 0.0);
    data[6] = (uint8_t)(0xF0u | (lowered ? 4u : 0u) | (works ? 1u : 0u));
    data[7] = 0xFF;
    return true;
}

static struct outcome *work(struct belts belts)
{
    struct story *s = story_new();

    story_define(s, definition);
    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_wheel(s, 240, drive_field, 1.0, 0, 90);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_every(s, story_id(6, 65310, 255, 128), 0.1, 1.0, 90, fill_belts, &belts);
    return story_tell(s);
}

Test(diagnosis_work, a_dead_axle_is_one_root_with_rate_and_coverage_behind_it)
{
    struct outcome *o = work((struct belts){true, 180, 8, 75});
    const struct dbr_finding *root = outcome_finding(o, "speed-stuck-zero", 128);
    const struct dbr_finding *rate = outcome_finding(o, "rate-missing", 128);

    cr_assert_not_null(root, "%s", outcome_codes(o));
    cr_assert_not_null(rate, "%s", outcome_codes(o));
    cr_assert(outcome_because(o, rate, root));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1);
    outcome_free(o);
}

Test(diagnosis_work, normal_life_is_no_fault)
{
    static const struct {
        const char *what;
        struct belts belts;
    } rows[] = {
        {"it works", {false, 180, 8, 75}},
        {"an empty pass: lowered, and a rate of zero was asked for", {false, 0, 8, 75}},
        {"the way to the field: never lowered", {false, 180, 0, 0}},
        {"raised after a short pass", {false, 180, 20, 40}},
        {"lowered only while it stands", {false, 180, 84, 90}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = work(rows[i].belts);
        cr_expect(outcome_clean(o), "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/*
 * A client of a task controller, by ISO 11783-10: it sends its task message every 2 s,
 * and counts the controller as lost after 6 s without its status.
 */
static struct outcome *connect(double status_from, double status_to, double again_from)
{
    struct story *s = story_new();
    uint32_t client = story_id(5, 51968, 247, 128), status = story_id(5, 51968, 255, 247);

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_beat(s, client, 2.0, 2.0, 90, "FFFFFFFF00000000");
    story_beat(s, story_id(6, 65301, 255, 247), 0.1, 0.5, 90, "0000000000000000");
    if (status_from < status_to)
        story_beat(s, status, 2.0, status_from, status_to, "FEFFFFFF00FFFFFF");
    if (again_from < 90)
        story_beat(s, status, 2.0, again_from, 90, "FEFFFFFF00FFFFFF");
    return story_tell(s);
}

Test(diagnosis_work, a_controller_that_stops_or_never_answers)
{
    static const struct {
        const char *what;
        double from, to, again;
        int about; /* the controller; the implement where there is none; 0: nothing is lost */
    } rows[] = {
        {"there all along", 3, 90, 99, 0},
        {"start-up: it comes after 10 s", 10, 90, 99, 0},
        {"two statuses are missing: 5 s", 3, 40, 45, 0},
        {"it stops for good", 3, 40, 99, 247},
        {"it comes back after half a minute", 3, 30, 60, 247},
        {"it never answers", 0, 0, 99, 128},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = connect(rows[i].from, rows[i].to, rows[i].again);
        for (int address = 128; address <= 247; address += 247 - 128)
            cr_expect_eq(outcome_has(o, "controller-lost", address), rows[i].about == address,
                         "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* One controller that stops is one finding, whoever worked with it. */
Test(diagnosis_work, a_controller_of_two_implements_stops_once)
{
    struct story *s = story_new();
    size_t told = 0;

    story_background(s, 0, 90);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_claim(s, 0.6, 129, NAME_SPREADER + 1);
    story_beat(s, story_id(5, 51968, 247, 128), 2.0, 2.0, 90, "FFFFFFFF00000000");
    story_beat(s, story_id(5, 51968, 247, 129), 2.0, 2.1, 90, "FFFFFFFF00000000");
    story_beat(s, story_id(5, 51968, 255, 247), 2.0, 3.0, 40, "FEFFFFFF00FFFFFF");
    struct outcome *o = story_tell(s);
    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        told += strcmp(o->diagnosis->findings[i].code, "controller-lost") == 0;
    cr_expect_eq(told, 1, "%s", outcome_codes(o));
    const struct dbr_finding *lost = outcome_finding(o, "controller-lost", 247);
    cr_assert_not_null(lost);
    size_t last = lost->evidence.count - 1;
    cr_expect(strstr(lost->evidence.items[last - 1], "(128)"), "%s", lost->evidence.items[last - 1]);
    cr_expect(strstr(lost->evidence.items[last], "(129)"), "%s", lost->evidence.items[last]);
    outcome_free(o);
}

/* It did not put anything out: proven to be over only where it was asked to work again. */
Test(diagnosis_work, a_missing_rate_is_gone_where_it_worked)
{
    static const struct {
        const char *what;
        struct belts after;
        enum dbr_change change;
    } rows[] = {
        {"it works", {false, 180, 8, 75}, DBR_CHANGE_GONE},
        {"the axle is dead still", {true, 180, 8, 75}, DBR_CHANGE_STILL},
        {"it was never lowered", {false, 180, 0, 0}, DBR_CHANGE_CANNOT_TELL},
        {"nothing was asked for", {false, 0, 8, 75}, DBR_CHANGE_CANNOT_TELL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, work((struct belts){true, 180, 8, 75}), work(rows[i].after),
                      "rate-missing", rows[i].change,
                      rows[i].change == DBR_CHANGE_CANNOT_TELL ? "never worked" : NULL);
}
