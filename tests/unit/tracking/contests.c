/*
 * Two users of one address, beyond the usual quarrel: who was there, who answers, what can be told
 * when the recording ends. SAE J1939-81 4.2 (claims, cannot-claim); the times are our own.
 */
#include <criterion/criterion.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

#define NAME_THIRD UINT64_C(0x200A8200FFE00009) /* higher than NAME_WEIGHER */

static void works(struct story *s, uint8_t address, uint32_t pgn, double from, double to)
{
    story_beat(s, story_id(6, pgn, 255, address), 0.2, from, to, zeros);
}

/* A weigher claims 131 and works until `until`; the newcomer claims it at 30 s. */
static struct story *contested(uint64_t incumbent, uint64_t newcomer, double until)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    if (incumbent)
        story_claim(s, 0.2, 131, incumbent);
    if (until > 0)
        works(s, 131, 65301, 0.5, until);
    story_claim(s, 30.0, 131, newcomer);
    return s;
}

static const struct dbr_conflict *only(const struct outcome *o)
{
    cr_assert_eq(o->history->conflict_count, 1, "%zu conflicts", o->history->conflict_count);
    return &o->history->conflicts[0];
}

/* The winner defends itself: that is no restart. Long after, the same claim is one. */
Test(tracking_contests, a_claim_that_ends_a_quarrel_is_no_restart)
{
    for (int later = 0; later < 2; later++) {
        struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 30);
        works(s, 131, 65302, 30.3, 60);
        story_claim(s, later ? 40.0 : 32.0, 131, NAME_NEWCOMER);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->restart_count, (size_t)later);
        cr_expect_eq(only(o)->outcome, DBR_LOSER_SILENT);
        outcome_free(o);
    }
}

/*
 * Somebody who has not been heard for a while may be gone: a unit that was swapped is no conflict.
 * One without a NAME cannot be told from the same unit that booted.
 */
Test(tracking_contests, an_incumbent_that_was_gone_is_none)
{
    for (int named = 0; named < 2; named++) {
        struct story *s = contested(named ? NAME_WEIGHER : 0, NAME_NEWCOMER, 20);
        works(s, 131, 65302, 30.3, 60);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->conflict_count, 0);
        cr_expect_eq(o->history->restart_count, (size_t)!named);
        cr_expect_not(outcome_has(o, "address-conflict", -1), "%s", outcome_codes(o));
        outcome_free(o);
    }
}

/*
 * A spare part put in for a unit that had been silent for long, like for like: it sends the same,
 * and as often. It claims once more as it is asked, and the old unit is put back where it was no
 * better.
 */
Test(tracking_contests, a_spare_part)
{
    static const uint64_t spares[] = {NAME_NEWCOMER, NAME_THIRD};

    for (int row = 0; row < 8; row++) {
        uint64_t spare = spares[row & 1];
        bool asked = row & 2, put_back = row & 4;
        struct story *s = contested(NAME_WEIGHER, spare, 8);
        works(s, 131, 65301, 30.3, put_back ? 40 : 60);
        if (asked) {
            story_request(s, 30.5, 254, 255);
            story_claim(s, 30.52, 131, spare);
        }
        if (put_back)
            story_claim(s, 50, 131, NAME_WEIGHER);
        if (put_back)
            works(s, 131, 65301, 50.3, 60);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->conflict_count, 0, "%d: %s", row, outcome_codes(o));
        outcome_free(o);
    }
}

/* It was not in the way for long enough to be noticed, and claims in its turn. */
Test(tracking_contests, an_incumbent_that_defends_itself_late)
{
    struct story *s = contested(NAME_WEIGHER, NAME_THIRD, 8);
    works(s, 131, 65301, 30.3, 60);
    story_claim(s, 33, 131, NAME_WEIGHER);
    story_claim(s, 33.1, 132, NAME_THIRD);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_MOVED);
    outcome_free(o);
}

/* Silent for long, and then twice as often: the old unit is there as well, and sends the same. */
Test(tracking_contests, an_incumbent_that_comes_back_and_sends_the_same)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 8);
    works(s, 131, 65301, 30.3, 60);
    works(s, 131, 65301, 30.4, 60);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_STAYED);
    cr_expect(outcome_has(o, "address-shared", 131), "%s", outcome_codes(o));
    outcome_free(o);
}

/* It paused, came back, and both go on: then it was one after all. */
Test(tracking_contests, an_incumbent_that_comes_back)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 20);
    works(s, 131, 65301, 33, 60);
    works(s, 131, 65302, 30.3, 60);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_STAYED);
    cr_expect(outcome_has(o, "address-shared", 131), "%s", outcome_codes(o));
    outcome_free(o);
}

/* One that only claimed, and never worked: what it lost is its address, not its work. */
Test(tracking_contests, a_loser_that_never_worked)
{
    struct story *s = contested(0, NAME_NEWCOMER, 0);
    story_claim(s, 28.0, 131, NAME_WEIGHER);
    works(s, 131, 65302, 30.3, 60);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_SILENT);
    cr_expect_not(only(o)->loser_had_worked);
    cr_expect_eq(only(o)->incumbent, NAME_WEIGHER);
    outcome_free(o);
}

/* "It sends no more" needs a bus that went on: a recording that ends cannot tell. */
Test(tracking_contests, a_recording_that_ends_too_soon)
{
    static const struct {
        uint64_t incumbent, newcomer;
    } rows[] = {{NAME_WEIGHER, NAME_NEWCOMER}, {NAME_NEWCOMER, NAME_WEIGHER}};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = story_new();
        story_background(s, 0, 32);
        story_claim(s, 0.2, 131, rows[i].incumbent);
        works(s, 131, 65301, 0.5, 30);
        story_claim(s, 30.0, 131, rows[i].newcomer);
        struct outcome *o = story_tell(s);
        cr_expect_eq(only(o)->outcome, DBR_LOSER_UNKNOWN, "row %zu", i);
        outcome_free(o);
    }
}

/* A third NAME is a contest of its own; the second goes on against whoever won the first. */
Test(tracking_contests, a_third_user)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 30);
    works(s, 131, 65302, 30.3, 60);
    story_claim(s, 40.0, 131, NAME_THIRD);
    story_claim(s, 40.1, 131, NAME_NEWCOMER);
    story_claim(s, 40.2, 133, NAME_THIRD);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->conflict_count, 2);
    cr_expect_eq(o->history->conflicts[1].incumbent, NAME_NEWCOMER);
    cr_expect_eq(o->history->conflicts[1].newcomer, NAME_THIRD);
    cr_expect_eq(o->history->conflicts[1].outcome, DBR_LOSER_MOVED);
    cr_expect_eq(o->history->conflicts[1].moved_to, 133);
    outcome_free(o);
}

/* Only the first address after the quarrel is where the loser moved. */
Test(tracking_contests, what_the_loser_does_first_counts)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 30);
    works(s, 131, 65302, 30.3, 60);
    story_claim(s, 30.2, 132, NAME_WEIGHER);
    story_claim(s, 35.0, 133, NAME_WEIGHER);
    story_claim(s, 36.0, 128, NAME_SPREADER); /* somebody else, elsewhere */
    story_claim(s, 37.0, 134, NAME_NEWCOMER); /* the winner moves as well */
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_MOVED);
    cr_expect_eq(only(o)->moved_to, 132);
    outcome_free(o);
}

/* The same NAMEs on another bus are other units. */
Test(tracking_contests, another_bus_answers_for_nobody)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER, 30);
    works(s, 131, 65302, 30.3, 60);
    story_on(s, 1);
    story_claim(s, 30.2, 254, NAME_WEIGHER);
    story_claim(s, 30.3, 132, NAME_WEIGHER);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->outcome, DBR_LOSER_SILENT);
    cr_expect_eq(only(o)->interface, 0);
    outcome_free(o);
}

/* Whoever works without a NAME is named by an answer, if that comes in time and unasked. */
Test(tracking_contests, answers_that_name_nobody)
{
    static const struct {
        const char *what;
        double asked, at; /* < 0: nobody asks */
        uint8_t address;
        uint64_t name;
    } rows[] = {{"too late", -1, 31.0, 254, NAME_WEIGHER},
                {"asked for", 30.2, 30.3, 254, NAME_WEIGHER},
                {"the newcomer itself", -1, 30.3, 131, NAME_NEWCOMER},
                {"another address", -1, 30.3, 140, NAME_WEIGHER}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = contested(0, NAME_NEWCOMER, 60);
        if (rows[i].asked >= 0)
            story_request(s, rows[i].asked, 18, 255);
        story_claim(s, rows[i].at, rows[i].address, rows[i].name);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->conflict_count, 0, "%s", rows[i].what);
        cr_expect(outcome_has(o, "ecu-restart", 131), "%s: %s", rows[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* A third NAME that claims it seconds later is a new contest, and no answer to the first. */
Test(tracking_contests, a_claim_seconds_later_is_no_answer)
{
    struct story *s = contested(0, NAME_NEWCOMER, 30);
    works(s, 131, 65301, 30.1, 60);
    story_claim(s, 40.0, 131, NAME_WEIGHER);
    story_claim(s, 40.1, 131, NAME_NEWCOMER);
    struct outcome *o = story_tell(s);

    cr_expect_eq(only(o)->at_ns / 1000000000, 40);
    cr_expect_eq(only(o)->incumbent, NAME_NEWCOMER);
    outcome_free(o);
}

/* A bus on which everybody quarrels: what is beyond the ceiling is counted. */
Test(tracking_contests, more_contests_than_are_watched)
{
    const unsigned users = 70, watched = 64;
    struct story *s = story_new();

    story_background(s, 0, 40);
    for (unsigned i = 0; i < users; i++) {
        story_claim(s, 10, (uint8_t)(40 + i), NAME_THIRD + 2 * i);
        works(s, (uint8_t)(40 + i), 65301, 10.2, 12);
        story_claim(s, 12, (uint8_t)(40 + i), NAME_THIRD + 2 * i + 1);
        works(s, (uint8_t)(40 + i), 65301, 12.1, 40);
    }
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->conflict_count, watched);
    cr_expect_eq(o->history->events_dropped, users - watched);
    outcome_free(o);
}
