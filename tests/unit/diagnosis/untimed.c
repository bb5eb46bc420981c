/* untimed.c - recordings without time stamps: what happened is told, and no time is made up. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/transfer_story.h"

#define ZEROS "0000000000000000"

static bool tells_a_time(const char *text)
{
    return strstr(text, "0.0 s") || strstr(text, "0.0 ms") || strstr(text, " 0 ms");
}

static void expect_no_times(const struct outcome *o)
{
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        cr_expect_not(f->timed || f->open, "%s", f->code);
        cr_expect_not(tells_a_time(f->title), "%s", f->title);
        for (size_t k = 0; k < f->evidence.count; k++)
            cr_expect_not(tells_a_time(f->evidence.items[k]), "%s", f->evidence.items[k]);
    }
    cr_expect_not(tells_a_time(o->diagnosis->verdict.sentence));
}

/* The loser says that it has no address: it had the contested one, whenever that was. */
Test(diagnosis_untimed, an_address_that_was_lost)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.2, 131, NAME_WEIGHER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 0.5, 30, ZEROS);
    story_claim(s, 30.0, 131, NAME_NEWCOMER);
    story_claim(s, 30.1, 254, NAME_WEIGHER);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.3, 60, ZEROS);
    struct outcome *o = story_tell_untimed(s);

    cr_assert(outcome_has(o, "address-cannot-claim", 254), "%s", outcome_codes(o));
    cr_expect(says(outcome_finding(o, "address-cannot-claim", 254), "first at an unknown time"));
    expect_no_times(o);
    outcome_free(o);
}

/* Once and twice, by both sides, and by one that refuses many. */
Test(diagnosis_untimed, messages_that_were_given_up)
{
    struct story *s = bus_of_both(60);
    control(s, 5, 140, 38, "10140003FF");
    control(s, 5.1, 38, 140, "FF07FFFFFF");
    for (int i = 0; i < 2; i++) {
        control(s, 10 + i, 140, 39, "10140003FF");
        control(s, 10.1 + i, 140, 39, "FF03FFFFFF");
    }
    for (uint8_t a = 150; a < 154; a++) {
        control(s, 20 + 0.1 * a, a, 40, "10140003FF");
        control(s, 20.01 + 0.1 * a, 40, a, "FF02FFFFFF");
    }
    struct outcome *o = story_tell_untimed(s);
    bool once = false, twice = false;

    cr_assert_eq(findings_of(o), 3, "%s", outcome_codes(o));
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        once = once || says(&o->diagnosis->findings[i], "\nonce; this message never came");
        twice = twice || says(&o->diagnosis->findings[i], "\n2 times; this message never came");
    }
    cr_expect(once && twice);
    cr_expect(says(outcome_finding(o, "transfer-failed", 40), "refused 4 requests"));
    expect_no_times(o);
    outcome_free(o);
}

/* Restarts, shared NAMEs, orders to be silent, trouble codes. */
Test(diagnosis_untimed, what_else_was_said)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.1, 128, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 128), 0.1, 0.5, 60, ZEROS);
    story_claim(s, 20, 128, NAME_SPREADER);
    story_claim(s, 25, 141, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 141), 0.1, 25.5, 60, ZEROS);
    story_frame(s, 30, story_id(6, DBR_PGN_DM13, 255, 249), "3FFFFFFFFFFFFFFF");
    story_beat(s, story_id(6, DBR_PGN_DM1, 255, 140), 1.0, 0, 60, "04FF64000401FFFF");
    struct outcome *o = story_tell_untimed(s);

    cr_expect(outcome_has(o, "fault-code-active", 140), "%s", outcome_codes(o));
    expect_no_times(o);
    outcome_free(o);
}
