/* Working sets: who leads, who belongs, by NAME wherever it is. ISO 11783-7. */
#include <criterion/criterion.h>
#include <stdio.h>

#include "support/story.h"

#define MASTER 65037u
#define MEMBER 65036u

static void tell_master(struct story *s, double at, uint8_t master, unsigned count)
{
    char hex[17];

    snprintf(hex, sizeof hex, "%02XFFFFFFFFFFFFFF", count);
    story_frame(s, at, story_id(7, MASTER, 255, master), hex);
}

static void tell_member(struct story *s, double at, uint8_t master, uint64_t name)
{
    char hex[17];

    for (unsigned i = 0; i < 8; i++)
        snprintf(hex + 2 * i, 3, "%02X", (unsigned)(name >> 8 * i & 0xFF));
    story_frame(s, at, story_id(7, MEMBER, 255, master), hex);
}

static int master_of(const struct outcome *o, uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(o->history, 0, address);
    cr_assert_not_null(ecu, "nobody at %u", address);
    return dbr_history_master(o->history, ecu);
}

Test(tracking_working_sets, a_master_and_its_members)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_claim(s, 0.6, 131, NAME_WEIGHER);
    story_claim(s, 0.7, 132, NAME_NEWCOMER);
    tell_master(s, 1, 128, 3);
    tell_member(s, 1.1, 128, NAME_WEIGHER);
    tell_member(s, 1.2, 128, 0x200A8200FFE00099); /* is never on the bus */
    struct outcome *o = story_tell(s);
    cr_assert_eq(o->history->working_set_count, 1);
    cr_expect_eq(o->history->working_sets[0].master, 128);
    cr_expect_eq(o->history->working_sets[0].announced, 3);
    cr_assert_eq(o->history->member_count, 2);
    cr_expect_eq(o->history->members[0].address, 131);
    cr_expect_eq(o->history->members[1].address, -1);
    cr_expect_eq(master_of(o, 128), 128);
    cr_expect_eq(master_of(o, 131), 128);
    cr_expect_eq(master_of(o, 132), -1);
    outcome_free(o);
}

/* Told before the member claims, and after it moved: the NAME decides. */
Test(tracking_working_sets, members_are_found_by_name)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    tell_master(s, 1, 128, 2);
    tell_member(s, 1.1, 128, NAME_WEIGHER);
    story_claim(s, 2, 131, NAME_WEIGHER);
    story_claim(s, 9, 133, NAME_WEIGHER);
    struct outcome *o = story_tell(s);
    cr_assert_eq(o->history->member_count, 1);
    cr_expect_eq(o->history->members[0].address, 133);
    cr_expect_eq(master_of(o, 133), 128);
    cr_expect_eq(master_of(o, 131), -1);
    outcome_free(o);
}

Test(tracking_working_sets, a_member_belongs_to_who_named_it_last)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_claim(s, 0.6, 131, NAME_WEIGHER);
    tell_master(s, 1, 128, 2);
    tell_member(s, 1.1, 128, NAME_WEIGHER);
    tell_master(s, 8, 130, 2);
    tell_member(s, 8.1, 130, NAME_WEIGHER);
    struct outcome *o = story_tell(s);
    cr_expect_eq(o->history->member_count, 1);
    cr_expect_eq(master_of(o, 131), 130);
    cr_expect_eq(master_of(o, 128), 128);
    outcome_free(o);
}

Test(tracking_working_sets, a_count_that_is_none)
{
    struct story *s = story_new();

    story_background(s, 0, 5);
    tell_master(s, 1, 128, 0xFF);
    struct outcome *o = story_tell(s);
    cr_assert_eq(o->history->working_set_count, 1);
    cr_expect_eq(o->history->working_sets[0].announced, -1);
    outcome_free(o);
}

Test(tracking_working_sets, more_members_than_are_kept_are_counted)
{
    struct story *s = story_new();
    const unsigned most = DBR_MEMBERS_MAX;

    story_background(s, 0, 20);
    tell_master(s, 1, 128, 200);
    for (unsigned i = 0; i < most + 3; i++)
        tell_member(s, 1.1 + 0.01 * i, 128, NAME_WEIGHER + i);
    struct outcome *o = story_tell(s);
    cr_expect_eq(o->history->member_count, most);
    cr_expect_eq(o->history->not_tracked, 3);
    outcome_free(o);
}
