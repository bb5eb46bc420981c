/*
 * Whose word counts where speeds contradict each other: a speed that an ECU selected from another
 * source is no witness of its own. SPN 4308: 0 wheel, 1 ground, 2 navigation, 3 blended.
 */
#include <criterion/criterion.h>

#include "support/story.h"

#define SELECTOR 241u

static bool fill_selected(double t, uint8_t data[8], void *context)
{
    const unsigned *selection = context;
    unsigned raw = (unsigned)(drive_field(t) * 1000);

    data[0] = (uint8_t)(raw & 0xFF);
    data[1] = (uint8_t)(raw >> 8);
    for (unsigned i = 2; i < 7; i++)
        data[i] = 0xFF;
    data[7] = (uint8_t)(0xE0 | *selection << 2 | 3);
    return true;
}

/*
 * The axle stands, as does the radar of the tractor; satellites say that the machine moves. One
 * against one: a third voice that is its own decides.
 */
static struct outcome *one_against_one(unsigned *selection)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_ground(s, 240, drive_stand, 1.0, 1, 90);
    story_axle(s, 128, drive_stand, 1.0, 1, 90);
    story_gnss(s, 28, drive_field, 1.0, 1, 90);
    if (selection)
        story_every(s, story_id(3, 61474, 255, SELECTOR), 0.1, 1, 90, fill_selected, selection);
    return story_tell(s);
}

static bool axle_is_dead(const struct outcome *o)
{
    return outcome_has(o, "speed-stuck-zero", 128);
}

Test(tracking_votes, one_against_one_convicts_nobody)
{
    struct outcome *o = one_against_one(NULL);
    cr_expect_not(axle_is_dead(o), "%s", outcome_codes(o));
    outcome_free(o);
}

Test(tracking_votes, a_copy_has_no_vote)
{
    static const struct {
        unsigned selection;
        bool own;
    } rows[] = {{0, true},  /* wheels that nobody else tells of */
                {1, true},  /* a radar of its own: that of the tractor is another one */
                {2, false}, /* the satellites again */
                {3, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        unsigned selection = rows[i].selection;
        struct outcome *o = one_against_one(&selection);
        cr_expect_eq(axle_is_dead(o), rows[i].own, "selection %u: %s", selection,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Wheels that its own ECU tells of as well: the two are one voice, which is there once. */
Test(tracking_votes, a_copy_beside_its_original)
{
    for (unsigned selection = 0; selection < 2; selection++) {
        struct story *s = story_new();
        story_background(s, 0, 90);
        story_ground(s, 240, drive_stand, 1.0, 1, 90);
        story_axle(s, 128, drive_stand, 1.0, 1, 90);
        if (selection == 0)
            story_wheel(s, SELECTOR, drive_field, 1.0, 1, 90);
        else
            story_ground(s, SELECTOR, drive_field, 1.0, 1, 90);
        story_every(s, story_id(3, 61474, 255, SELECTOR), 0.1, 1, 90, fill_selected, &selection);
        struct outcome *o = story_tell(s);
        cr_expect_not(axle_is_dead(o), "selection %u: %s", selection, outcome_codes(o));
        outcome_free(o);
    }
}

/* Once the satellites are gone, what was selected from them is all that is left of them. */
Test(tracking_votes, a_copy_whose_original_fell_silent)
{
    unsigned selection = 2;
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_axle(s, 128, drive_stand, 1.0, 1, 90);
    story_gnss(s, 28, drive_stand, 1.0, 1, 3);
    story_every(s, story_id(3, 61474, 255, SELECTOR), 0.1, 1, 90, fill_selected, &selection);
    struct outcome *o = story_tell(s);

    cr_expect(axle_is_dead(o), "%s", outcome_codes(o));
    outcome_free(o);
}

/* An ECU that tells motion and standstill at once contradicts itself. */
Test(tracking_votes, whoever_contradicts_himself_has_no_vote)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_wheel(s, 240, drive_field, 1.0, 1, 90);
    story_ground(s, 240, drive_stand, 1.0, 1, 90);
    story_axle(s, 128, drive_stand, 1.0, 1, 90);
    struct outcome *o = story_tell(s);

    cr_expect_not(axle_is_dead(o), "%s", outcome_codes(o));
    outcome_free(o);
}
