/* What is told with a trouble code: who asked for it to be cleared, and how it came and went. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

#define CODE "fault-code-active"
#define SPN_100_FMI_4 "04FF64000401FFFF" /* amber lamp, occurrence count 1 */
#define NO_CODES "00FF00000000FFFF"
#define TOOL 249

static uint32_t dm1(uint8_t address)
{
    return story_id(6, DBR_PGN_DM1, 255, address);
}

/* DM11 (65235) or DM3 (65228) is asked for like any group; the answer is an acknowledgement. */
static void ask_to_clear(struct story *s, double at, uint8_t to, const char *group)
{
    story_frame(s, at, story_id(6, 59904, to, TOOL), group);
}

static void answer(struct story *s, double at, uint8_t from, const char *hex)
{
    story_frame(s, at, story_id(6, 59392, 255, from), hex);
}

static size_t times_said(const struct dbr_finding *f, const char *words)
{
    size_t count = 0;

    for (size_t i = 0; f && i < f->evidence.count; i++)
        count += strstr(f->evidence.items[i], words) != NULL;
    return count;
}

/* One code of address 140, from 0 to 60 s. */
static struct story *story_of_a_code(void)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, dm1(140), 1.0, 0, 60, SPN_100_FMI_4);
    return s;
}

Test(diagnosis_clears, a_code_tells_who_wanted_it_cleared_and_what_came_of_it)
{
    struct story *s = story_of_a_code();
    ask_to_clear(s, 10.0, 140, "D3FE00");
    answer(s, 10.1, 140, "00FFFFFFF9D3FE00");
    ask_to_clear(s, 20.0, 255, "D3FE00");
    answer(s, 20.1, 140, "01FFFFFFF9D3FE00");
    story_frame(s, 30.0, story_id(6, DBR_PGN_DM22, 140, TOOL), "11FFFFFFFF640004");
    story_frame(s, 30.1, story_id(6, DBR_PGN_DM22, TOOL, 140), "1301FFFFFF640004");
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(times_said(f, "asked for active codes to be cleared, at "), 3);
    cr_expect_eq(times_said(f, ": done"), 1);
    cr_expect_eq(times_said(f, ": refused"), 1);
    cr_expect_eq(times_said(f, ": denied"), 1);
    outcome_free(o);
}

Test(diagnosis_clears, what_concerns_other_codes_is_not_told)
{
    struct story *s = story_of_a_code();
    ask_to_clear(s, 10.0, 141, "D3FE00"); /* another ECU */
    ask_to_clear(s, 20.0, 140, "CCFE00"); /* previously active codes */
    story_frame(s, 30.0, story_id(6, DBR_PGN_DM22, 140, TOOL), "11FFFFFFFF650004"); /* SPN 101 */
    story_frame(s, 40.0, story_id(6, DBR_PGN_DM22, 140, TOOL), "11FFFFFFFF640005"); /* FMI 5 */
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->troubles.clear_count, 4);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "to be cleared"), 0);
    outcome_free(o);
}

Test(diagnosis_clears, without_time_stamps_they_have_no_time)
{
    struct story *s = story_of_a_code();
    ask_to_clear(s, 10.0, 140, "D3FE00");
    struct outcome *o = story_tell_untimed(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(times_said(f, "asked for active codes to be cleared: "), 1);
    outcome_free(o);
}

Test(diagnosis_clears, without_time_stamps_coming_and_going_have_no_time)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, dm1(140), 1.0, 0, 10, SPN_100_FMI_4);
    story_beat(s, dm1(140), 1.0, 11, 20, NO_CODES);
    story_beat(s, dm1(140), 1.0, 21, 30, SPN_100_FMI_4);
    story_beat(s, dm1(140), 1.0, 31, 60, NO_CODES);
    struct outcome *o = story_tell_untimed(s);
    const struct dbr_finding *f = outcome_finding(o, CODE, 140);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(times_said(f, "went away: a list without it came"), 1);
    cr_expect_eq(times_said(f, "went away and came back 1 time"), 1);
    cr_expect_eq(times_said(f, ", last at "), 0);
    outcome_free(o);
}

Test(diagnosis_clears, a_code_in_a_single_list)
{
    for (int untimed = 0; untimed < 2; untimed++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_frame(s, 30.0, dm1(140), SPN_100_FMI_4);
        struct outcome *o = untimed ? story_tell_untimed(s) : story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, CODE, 140);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect_eq(times_said(f, untimed ? "in 1 list of active codes (DM1)"
                                           : "in one list of active codes (DM1), at "), 1);
        outcome_free(o);
    }
}

/* SAE J1939-73 5.7.1: byte 2 tells how lamps flash; the occurrence count is in the last byte. */
Test(diagnosis_clears, lamps_that_flash_and_counts_that_grow)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    story_beat(s, dm1(140), 1.0, 0, 30, "04F764000401FFFF");
    story_beat(s, dm1(140), 1.0, 31, 60, "04F764000403FFFF");
    story_beat(s, dm1(141), 1.0, 0, 60, "04F36400047FFFFF");
    struct outcome *o = story_tell(s);

    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "amber warning (flashes)"), 1);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 140), "occurrence count 1 at first, 3 at last"),
                 1);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 141), "amber warning (flashes)"), 1);
    cr_expect_eq(times_said(outcome_finding(o, CODE, 141), "how often it occurred is not told"), 1);
    outcome_free(o);
}
