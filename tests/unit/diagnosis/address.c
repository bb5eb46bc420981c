/* Addresses: conflicts and their outcomes, debts, duplicates (SAE J1939-81). */
#include <criterion/criterion.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

/* A weigher works at 131 from the start; at 30 s somebody else claims its address. */
static struct story *contested(uint64_t incumbent, uint64_t newcomer)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_gnss(s, 28, drive_stand, 1.0, 0, 60);
    if (incumbent)
        story_claim(s, 0.2, 131, incumbent);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 0.5, 30, zeros);
    story_claim(s, 30.0, 131, newcomer);
    return s;
}

Test(diagnosis_address, the_loser_that_cannot_claim_is_a_fault)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER);
    story_claim(s, 30.1, 254, NAME_WEIGHER);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.3, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-conflict", 131);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_FAULT);
    cr_assert(f->start_ns >= 29999000000 && f->start_ns <= 30001000000);
    const struct dbr_finding *cannot = outcome_finding(o, "address-cannot-claim", 254);
    cr_assert_not_null(cannot, "%s", outcome_codes(o));
    cr_assert(outcome_because(o, cannot, f));
    cr_assert_not(outcome_has(o, "address-shared", -1), "%s", outcome_codes(o));
    cr_assert_not(outcome_has(o, "ecu-restart", -1), "%s", outcome_codes(o));
    cr_assert_eq(o->diagnosis->verdict.root_cause_count, 1);
    outcome_free(o);
}

Test(diagnosis_address, the_loser_that_moves_after_work_is_a_warning)
{
    struct story *s = contested(NAME_SPREADER, NAME_NEWCOMER);
    story_claim(s, 30.1, 132, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 132), 0.2, 30.5, 60, zeros);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.5, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-conflict", 131);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_WARNING);
    cr_assert_not(outcome_has(o, "name-duplicate", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, a_newcomer_that_gives_way_at_once_is_a_note)
{
    struct story *s = contested(NAME_NEWCOMER, NAME_WEIGHER);
    story_claim(s, 30.02, 131, NAME_NEWCOMER);
    story_claim(s, 30.2, 133, NAME_WEIGHER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30.2, 60, zeros);
    story_beat(s, story_id(6, 65301, 255, 133), 0.2, 30.5, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-conflict", 131);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->severity, DBR_NOTE);
    cr_assert(outcome_clean(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, both_go_on_under_one_address)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30, 60, zeros);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.3, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *shared = outcome_finding(o, "address-shared", 131);

    cr_assert_not_null(shared, "%s", outcome_codes(o));
    cr_assert_eq(shared->severity, DBR_FAULT);
    cr_assert(outcome_because(o, shared, outcome_finding(o, "address-conflict", 131)));
    outcome_free(o);
}

Test(diagnosis_address, two_of_a_kind_send_twice_as_often)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30, 60, zeros);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30.33, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert(outcome_has(o, "address-shared", 131), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, a_user_without_a_name_that_gives_up_had_a_conflict)
{
    /* It says so from the null address, or it falls silent. */
    for (int says_so = 0; says_so < 2; says_so++) {
        struct story *s = contested(0, NAME_NEWCOMER);
        if (says_so)
            story_claim(s, 30.2, 254, NAME_WEIGHER);
        story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.3, 60, zeros);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "address-conflict", 131);
        cr_assert_not_null(f, "%d: %s", says_so, outcome_codes(o));
        cr_assert_eq(f->severity, DBR_FAULT);
        cr_assert_not(outcome_has(o, "ecu-restart", -1), "%s", outcome_codes(o));
        outcome_free(o);
    }
}

Test(diagnosis_address, a_user_without_a_name_that_goes_on_has_restarted)
{
    struct story *s = contested(0, NAME_WEIGHER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30.3, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "address-conflict", -1), "%s", outcome_codes(o));
    cr_assert(outcome_has(o, "ecu-restart", 131), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, an_address_that_was_left_is_free)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_claim(s, 0.2, 131, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 0.5, 20, zeros);
    story_claim(s, 20.1, 140, NAME_SPREADER); /* moved by itself */
    story_beat(s, story_id(6, 65301, 255, 140), 0.2, 20.5, 60, zeros);
    story_claim(s, 21.0, 131, NAME_WEIGHER);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 21.5, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "address-conflict", -1), "%s", outcome_codes(o));
    cr_assert_not(outcome_has(o, "name-duplicate", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, asked_in_vain)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_beat(s, story_id(6, 65301, 255, 69), 0.2, 0, 30, zeros);
    story_request(s, 10.0, 18, 69);
    struct outcome *o = story_tell(s);
    cr_assert(outcome_has(o, "address-unclaimed", 69), "%s", outcome_codes(o));
    cr_assert_not(outcome_has(o, "address-unclaimed", 0), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, a_recording_that_began_later_cannot_tell)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    story_beat(s, story_id(6, 65301, 255, 69), 0.2, 0, 30, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_not(outcome_has(o, "address-unclaimed", -1), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(diagnosis_address, a_late_starter_owes_a_claim_of_its_own)
{
    static const struct {
        bool claims, expected;
    } rows[] = {{false, true}, {true, false}};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = story_new();
        story_background(s, 0, 40);
        story_beat(s, story_id(6, 65301, 255, 131), 0.2, 12, 40, zeros);
        if (rows[i].claims)
            story_claim(s, 11.9, 131, NAME_WEIGHER);
        struct outcome *o = story_tell(s);
        cr_assert_eq(outcome_has(o, "address-unclaimed", 131), rows[i].expected, "%s",
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Five that begin together are told one by one, six as one; one much later is another matter. */
Test(diagnosis_address, many_at_once_are_one_finding)
{
    for (unsigned together = 5; together <= 6; together++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        for (unsigned i = 0; i < together; i++)
            story_beat(s, story_id(6, 65301, 255, (uint8_t)(150 + i)), 0.2, 12 + 0.5 * i, 60, zeros);
        story_beat(s, story_id(6, 65301, 255, 170), 0.2, 30, 60, zeros);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *all = outcome_finding(o, "address-unclaimed", -1);
        cr_assert(outcome_has(o, "address-unclaimed", 170), "%s", outcome_codes(o));
        cr_assert_eq(outcome_has(o, "address-unclaimed", 150), together == 5);
        if (together == 6) {
            cr_assert_not_null(all);
            cr_expect_eq(all->address, -1);
            cr_expect_eq(all->address_count, 6);
            cr_expect_eq(all->count, 6);
        }
        outcome_free(o);
    }
}

Test(diagnosis_address, one_name_on_two_addresses)
{
    struct story *s = story_new();
    story_background(s, 0, 40);
    story_claim(s, 0.2, 140, NAME_SPREADER);
    story_claim(s, 0.4, 141, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 140), 0.2, 0.6, 40, zeros);
    story_beat(s, story_id(6, 65301, 255, 141), 0.2, 0.7, 40, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "name-duplicate", 141);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_assert_eq(f->address_count, 2);
    outcome_free(o);
}

/* Two that claim against each other again and again are one contest, and its claims are counted. */
Test(diagnosis_address, a_quarrel_is_one_conflict)
{
    struct story *s = contested(NAME_WEIGHER, NAME_NEWCOMER);
    for (int i = 1; i < 4; i++) {
        story_claim(s, 30 + 0.4 * i, 131, NAME_WEIGHER);
        story_claim(s, 30.2 + 0.4 * i, 131, NAME_NEWCOMER);
    }
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->conflict_count, 1);
    cr_expect_geq(o->history->conflicts[0].claims, 4);
    cr_expect_eq(o->history->conflicts[0].incumbent, NAME_WEIGHER);
    outcome_free(o);
}

/* Whoever loses and sends no more while the bus goes on has fallen silent. */
Test(diagnosis_address, a_loser_that_is_heard_no_more)
{
    for (int incumbent_wins = 0; incumbent_wins < 2; incumbent_wins++) {
        struct story *s = incumbent_wins ? contested(NAME_NEWCOMER, NAME_WEIGHER)
                                         : contested(NAME_WEIGHER, NAME_NEWCOMER);
        story_beat(s, story_id(6, incumbent_wins ? 65301 : 65302, 255, 131), 0.2, 30.3, 60, zeros);
        struct outcome *o = story_tell(s);
        cr_assert_eq(o->history->conflict_count, 1, "%d", incumbent_wins);
        cr_expect_eq(o->history->conflicts[0].newcomer_wins, !incumbent_wins);
        cr_expect_eq(o->history->conflicts[0].outcome, DBR_LOSER_SILENT, "%d", incumbent_wins);
        outcome_free(o);
    }
}

/* A user without a NAME that answers a claim with its own is at home. */
Test(diagnosis_address, a_user_without_a_name_that_fights_back)
{
    struct story *s = contested(0, NAME_WEIGHER);
    story_claim(s, 30.1, 131, NAME_NEWCOMER);
    story_beat(s, story_id(6, 65301, 255, 131), 0.2, 30.3, 60, zeros);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->conflict_count, 1);
    cr_expect(o->history->conflicts[0].incumbent_named);
    cr_expect_eq(o->history->conflicts[0].incumbent, NAME_NEWCOMER);
    cr_expect_not(o->history->conflicts[0].newcomer_wins);
    cr_expect_not(outcome_has(o, "ecu-restart", 131), "%s", outcome_codes(o));
    outcome_free(o);
}
