/* When a pause is a silence: habits of an ECU, and its beat. Common practice, no source. */
#include <criterion/criterion.h>

#include "drawbar/can_id.h"
#include "support/story.h"

static const char zeros[] = "0000000000000000";

static const struct dbr_ecu *ecu_of(const struct outcome *o, uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(o->history, 0, address);
    cr_assert_not_null(ecu);
    return ecu;
}

/* Seven seconds without a word, after a pause of four that was none: with a beat it is silent. */
Test(tracking_silence, whoever_has_a_beat_falls_silent)
{
    struct story *s = story_new();
    const uint32_t id = story_id(6, 65301, 255, 131);

    story_background(s, 0, 90);
    story_beat(s, id, 0.5, 0.2, 20, zeros);
    story_beat(s, id, 0.5, 24, 60, zeros);
    story_beat(s, id, 0.5, 67, 90, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_eq(ecu_of(o, 131)->silences.count, 1);
    cr_expect_eq(ecu_of(o, 131)->silences.items[0].start_ns / 1000000000, 59);
    outcome_free(o);
}

/* One that only reports changes: bursts without a beat, with pauses of two seconds as a habit. */
Test(tracking_silence, whoever_pauses_as_a_habit_does_not)
{
    struct story *s = story_new();

    story_background(s, 0, 80);
    for (unsigned burst = 0; burst < 20; burst++)
        for (unsigned i = 0; i < 24; i++)
            story_frame(s, 0.2 + 4 * burst + (burst < 15 ? 0 : 1.5) + 1.9 * i * i / 576,
                        story_id(6, 65301, 255, 131), zeros);
    struct outcome *o = story_tell(s);

    cr_expect_eq(ecu_of(o, 131)->silences.count, 0);
    outcome_free(o);
}

/* What a definition waits for is said once, however many senders it is about. */
Test(tracking_silence, a_definition_waits_for_a_name)
{
    struct story *s = story_new();

    story_define(s, "{\"schema\": \"drawbar-messages/1\", \"subject\": \"belt\", \"source\": \"test\","
                    "\"messages\": [{\"pgn\": 65310, \"name\": \"Belt\", \"length\": 8,"
                    "\"when\": {\"manufacturer_code\": 2047}, \"signals\": [{\"name\": \"Speed\","
                    "\"byte\": 1, \"bits\": 16, \"scale\": 0.001, \"unit\": \"m/s\"}],"
                    "\"examples\": [{\"data\": \"B80BFFFFFFFFFFFF\", \"expect\": {\"Speed\": 3.0},"
                    "\"source\": \"worked by hand\"}]}]}");
    story_background(s, 0, 20);
    story_beat(s, story_id(6, 65310, 255, 150), 0.2, 0, 20, zeros);
    story_beat(s, story_id(6, 65310, 255, 151), 0.2, 0, 20, zeros);
    story_claim(s, 0.1, 152, NAME_SPREADER);
    story_beat(s, story_id(6, 65310, 255, 152), 0.2, 0.2, 20, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->waiting_count, 1);
    cr_expect_str_eq(o->history->waiting[0]->name, "Belt");
    outcome_free(o);
}
