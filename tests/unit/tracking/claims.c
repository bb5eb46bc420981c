/* What claims say of one NAME: that it has no address, two, or a new one. SAE J1939-81 4.2. */
#include <criterion/criterion.h>

#include "drawbar/can_id.h"
#include "support/story.h"

static const char zeros[] = "0000000000000000";

static void works(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, story_id(6, 65301, 255, address), 0.2, from, to, zeros);
}

static struct story *quiet(void)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    return s;
}

Test(tracking_claims, whoever_cannot_claim_again_and_again_is_one)
{
    struct story *s = quiet();

    story_claim(s, 0.2, 131, NAME_WEIGHER);
    works(s, 131, 0.5, 10);
    story_claim(s, 10, 254, NAME_WEIGHER);
    story_claim(s, 20, 254, NAME_WEIGHER);
    story_claim(s, 25, 254, NAME_SPREADER);
    story_claim(s, 30, 254, NAME_SPREADER);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->cannot_claim_count, 2);
    const struct dbr_cannot_claim *first = &o->history->cannot_claims[0];
    cr_expect_eq(first->name, NAME_WEIGHER);
    cr_expect_eq(first->count, 2);
    cr_expect_eq(first->previous_address, 131, "kept, though the NAME has none by now");
    cr_expect_eq(first->first_ns / 1000000000, 10);
    cr_expect_eq(first->last_ns / 1000000000, 20);
    cr_expect_eq(o->history->cannot_claims[1].previous_address, -1);
    outcome_free(o);
}

/* Once it finds an address, that is where it is: no second one. */
Test(tracking_claims, an_address_after_all)
{
    struct story *s = quiet();

    story_claim(s, 1, 254, NAME_WEIGHER);
    story_claim(s, 5, 131, NAME_WEIGHER);
    works(s, 131, 5.2, 60);
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->duplicate_count, 0);
    cr_assert_not_null(dbr_history_ecu(o->history, 0, 131));
    outcome_free(o);
}

/* One NAME at two addresses: only while both go on, and the first is still its own. */
Test(tracking_claims, two_addresses_of_one_name)
{
    static const struct {
        const char *what;
        double first_until, second_until;
        uint64_t heir; /* claims the first address at 20.5 s; 0: nobody */
        size_t expected;
    } rows[] = {{"both", 60, 60, 0, 1},
                {"it moved", 20, 60, 0, 0},
                {"the second falls silent", 60, 20.5, 0, 0},
                {"somebody else took the first", 60, 60, NAME_SPREADER, 0}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = quiet();
        story_claim(s, 0.2, 131, NAME_WEIGHER);
        works(s, 131, 0.5, rows[i].first_until);
        story_claim(s, 20, 140, NAME_WEIGHER);
        works(s, 140, 20.1, rows[i].second_until);
        if (rows[i].heir)
            story_claim(s, 20.5, 131, rows[i].heir);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->duplicate_count, rows[i].expected, "%s", rows[i].what);
        outcome_free(o);
    }
}

/* The global address cannot be anybody's, and a claim is a NAME of eight bytes. */
Test(tracking_claims, claims_that_are_none)
{
    struct story *s = quiet();

    story_claim(s, 5, 255, NAME_WEIGHER);
    story_frame(s, 6, story_id(6, DBR_PGN_ADDRESS_CLAIMED, 255, 131), "0300E0FF0082");
    story_frame(s, 7, story_id(6, DBR_PGN_ADDRESS_CLAIMED, 255, 254), "0300E0FF0082");
    struct outcome *o = story_tell(s);

    cr_expect_null(dbr_history_ecu(o->history, 0, 255));
    cr_assert_not_null(dbr_history_ecu(o->history, 0, 131));
    cr_expect_eq(dbr_history_ecu(o->history, 0, 131)->name_count, 0);
    cr_expect_eq(o->history->cannot_claim_count, 0);
    outcome_free(o);
}

/* A request of less than three bytes asks for nothing: nobody owes an answer. */
Test(tracking_claims, a_request_that_is_cut_asks_for_nothing)
{
    for (int whole = 0; whole < 2; whole++) {
        struct story *s = quiet();
        works(s, 69, 0, 60);
        story_frame(s, 10, story_id(6, DBR_PGN_REQUEST, 69, 18), whole ? "00EE00" : "00EE");
        struct outcome *o = story_tell(s);
        cr_expect_eq(dbr_history_ecu(o->history, 0, 69)->asked_in_vain, whole);
        outcome_free(o);
    }
}

/* An answer to somebody's question is no boot, however the question was put. */
Test(tracking_claims, an_answer_is_no_restart)
{
    static const struct {
        const char *what;
        double asked; /* before the claim at 30 s */
        uint8_t to;
        size_t restarts;
    } rows[] = {{"asked by name", 0.2, 131, 0},
                {"all were asked", 0.2, 255, 0},
                {"asked long before", 5, 131, 1},
                {"another was asked", 0.2, 140, 1}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = quiet();
        story_claim(s, 0.2, 131, NAME_WEIGHER);
        works(s, 131, 0.5, 60);
        works(s, 140, 0.6, 60);
        story_request(s, 30 - rows[i].asked, 18, rows[i].to);
        story_claim(s, 30, 131, NAME_WEIGHER);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->restart_count, rows[i].restarts, "%s", rows[i].what);
        outcome_free(o);
    }
}

/*
 * An ECU asks from the null address, 50 ms before it claims: a question of its own does not make
 * its claim an answer. Another may have asked: what tells is that it was away, and, where that was
 * short, that it waits after its claim (SAE J1939-81 4.2: 250 ms, for addresses from 128 to 247).
 */
Test(tracking_claims, its_own_question_makes_no_answer)
{
    static const struct {
        const char *what;
        uint8_t address;
        double away, waits; /* before the question, and after the claim */
        bool early;         /* a message between the two */
        bool habit;         /* it paused so before */
        size_t restarts;
    } rows[] = {{"away for a moment", 131, 0.35, 0.3, false, false, 1},
                {"away for a moment, and goes on at once", 131, 0.35, 0.05, false, false, 0},
                {"not away", 131, 0.04, 0.3, false, false, 0},
                {"as it pauses at times", 131, 0.35, 0.3, false, true, 0},
                {"an address of its own need not wait", 38, 0.35, 0.3, false, false, 0},
                {"away for longer", 38, 1.4, 0.05, false, false, 1},
                {"away for longer, and speaks early", 131, 1.4, 0.3, true, false, 1}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = quiet();
        uint32_t id = story_id(6, 65301, 255, rows[i].address);
        story_claim(s, 0.2, rows[i].address, NAME_WEIGHER);
        story_beat(s, id, 0.05, 0.5, 20, zeros);
        story_beat(s, id, 0.05, rows[i].habit ? 20.4 : 20, 30.01, zeros);
        story_request(s, 30 + rows[i].away, 254, 255);
        if (rows[i].early)
            story_frame(s, 30.03 + rows[i].away, id, zeros);
        story_claim(s, 30.05 + rows[i].away, rows[i].address, NAME_WEIGHER);
        story_beat(s, id, 0.05, 30.05 + rows[i].away + rows[i].waits, 60, zeros);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->restart_count, rows[i].restarts, "%s: %zu", rows[i].what,
                     o->history->restart_count);
        outcome_free(o);
    }
}

/*
 * Who asks all from its own address answers its own question, as all do (SAE J1939-21, request to
 * the global address). One that was away asks as it boots. A terminal sends once a second.
 */
Test(tracking_claims, who_asks_all_answers_too)
{
    static const struct {
        const char *what;
        double period, away; /* before the question at 30 s */
        uint8_t to;
        size_t restarts;
    } rows[] = {{"a terminal between two of its messages", 1, 0, 255, 0},
                {"a busy ECU", 0.05, 0, 255, 0},
                {"away, and asks as it boots", 0.05, 2.5, 255, 1},
                {"a terminal that was away", 1, 12, 255, 1},
                {"another alone was asked", 0.05, 0, 140, 1}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = quiet();
        uint32_t id = story_id(6, 65301, 255, 38);
        story_claim(s, 0.2, 38, NAME_WEIGHER);
        works(s, 140, 0.6, 60);
        story_beat(s, id, rows[i].period, 0.5, 29.98 - rows[i].away, zeros);
        story_request(s, 30, 38, rows[i].to);
        story_claim(s, 30.012, 38, NAME_WEIGHER);
        story_beat(s, id, rows[i].period, 30.3, 60, zeros);
        struct outcome *o = story_tell(s);
        cr_expect_eq(o->history->restart_count, rows[i].restarts, "%s: %zu", rows[i].what,
                     o->history->restart_count);
        outcome_free(o);
    }
}

/* A key turned: all on that bus claim. What other buses do, or was there before, does not count. */
Test(tracking_claims, all_at_once_is_the_key)
{
    static const struct {
        const char *what;
        bool other_bus, gone_before, came_after;
        bool third_claims, expected;
    } rows[] = {{"all", false, false, false, true, true},
                {"one does not", false, false, false, false, false},
                {"one of another bus does not", true, false, false, false, true},
                {"one was gone by then", false, true, false, false, true},
                {"one came later", false, false, true, false, true}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        const uint8_t addresses[] = {131, 132};
        for (size_t k = 0; k < 2; k++) {
            story_claim(s, 0.2, addresses[k], NAME_SPREADER + k);
            works(s, addresses[k], 0.5, 60);
            story_claim(s, 30.0 + 0.1 * (double)k, addresses[k], NAME_SPREADER + k);
        }
        story_on(s, rows[i].other_bus);
        works(s, 133, rows[i].came_after ? 45 : 0.5, rows[i].gone_before ? 15 : 60);
        if (rows[i].third_claims)
            story_claim(s, 30.2, 133, NAME_TRACTOR);
        struct outcome *o = story_tell(s);
        cr_assert_geq(o->history->restart_count, 2, "%s", rows[i].what);
        cr_expect_eq(o->history->restarts[0].with_all, rows[i].expected, "%s", rows[i].what);
        outcome_free(o);
    }
}
