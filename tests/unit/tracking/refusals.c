/* What an implement answers to a wish of its controller: ISO 11783-10, acknowledge of process data. */
#include <criterion/criterion.h>

#include "drawbar/can_id.h"
#include "support/story.h"

#define SPREADER 128u
#define CONTROLLER 247u

static void tell(struct story *s, double at, uint8_t from, uint8_t to, const char *hex)
{
    story_frame(s, at, story_id(3, DBR_PGN_PROCESS_DATA, to, from), hex);
}

/* The controller is there, and wants a rate of 20 g/m2 (DDI 6) of element 3. */
static struct story *begin(void)
{
    struct story *s = story_new();

    story_background(s, 0, 30);
    story_claim(s, 0.5, SPREADER, NAME_SPREADER);
    story_beat(s, story_id(3, DBR_PGN_PROCESS_DATA, 255, CONTROLLER), 2.0, 0.6, 30,
               "FEFFFFFF0000FFFF");
    story_beat(s, story_id(3, DBR_PGN_PROCESS_DATA, CONTROLLER, SPREADER), 2.0, 1, 30,
               "FFFFFFFF00000000");
    tell(s, 5, CONTROLLER, SPREADER, "33000600204E0000");
    return s;
}

static const struct dbr_implement *only(const struct outcome *o)
{
    cr_assert_eq(o->history->implement_count, 1);
    return &o->history->implements[0];
}

/* Byte 5: 0 obeyed, FF refused without a reason, else a bit for each reason. */
Test(tracking_refusals, what_an_acknowledgement_says)
{
    static const struct {
        const char *first, *second;
        uint64_t refused;
        uint8_t bits;
    } rows[] = {{"3D00060000FFFFFF", "3D00060000FFFFFF", 0, 0},
                {"3D000600FFFFFFFF", "3D00060000FFFFFF", 1, 0},
                {"3D00060004FFFFFF", "3D00060010FFFFFF", 2, 0x14},
                {"3D00060004FFFFFF", "3D000600FFFFFFFF", 2, 0x04}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = begin();
        tell(s, 5.1, SPREADER, CONTROLLER, rows[i].first);
        tell(s, 6.1, SPREADER, CONTROLLER, rows[i].second);
        struct outcome *o = story_tell(s);
        cr_expect_eq(only(o)->refused, rows[i].refused, "row %zu", i);
        cr_expect_eq(only(o)->refusal_bits, rows[i].bits, "row %zu", i);
        outcome_free(o);
    }
}

/* Who is no implement refuses nothing, and a message that is cut says nothing. */
Test(tracking_refusals, acknowledgements_of_nobody)
{
    struct story *s = begin();

    tell(s, 5.1, 150, CONTROLLER, "3D00060004FFFFFF");
    tell(s, 5.2, SPREADER, CONTROLLER, "3D00060004");
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->address, SPREADER);
    cr_expect_eq(only(o)->refused, 0);
    outcome_free(o);
}
