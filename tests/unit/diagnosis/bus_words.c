/* bus_words.c - troubles of a bus that come again and again: some are told one by one. Classes of
 * error frames: linux/can/error.h. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

static size_t times_said(const struct dbr_finding *f, const char *words)
{
    size_t count = 0;

    for (size_t i = 0; f && i < f->evidence.count; i++)
        count += strstr(f->evidence.items[i], words) != NULL;
    return count;
}

static const struct dbr_finding *find(const struct outcome *o, const char *code)
{
    const struct dbr_finding *f = outcome_finding(o, code, -1);

    cr_assert_not_null(f, "%s: %s", code, outcome_codes(o));
    return f;
}

Test(diagnosis_bus_words, off_again_and_again)
{
    struct story *s = story_new();
    story_background(s, 0, 70);
    for (int i = 0; i < 6; i++) {
        story_error(s, 10.0 * i + 5, 0x40, zeros);
        story_error(s, 10.0 * i + 6, 0x100, zeros);
    }
    struct outcome *o = story_tell(s);

    cr_expect_eq(find(o, "bus-off")->count, 6);
    cr_expect_eq(times_said(find(o, "bus-off"), "then it was restarted"), 4);
    outcome_free(o);
}

Test(diagnosis_bus_words, bursts_again_and_again)
{
    struct story *s = story_new();
    story_background(s, 0, 70);
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 20; k++)
            story_error(s, 10.0 * i + 5 + 0.02 * k, 0x88, "0000040000000000");
    struct outcome *o = story_tell(s);

    cr_expect_eq(find(o, "bus-error-burst")->count, 6);
    cr_expect_eq(times_said(find(o, "bus-error-burst"), "20 error frames from"), 4);
    cr_expect_eq(times_said(find(o, "bus-error-burst"), "120 error frames in the whole"), 1);
    outcome_free(o);
}

/* 80 % of 250 kbit/s by frames of 146 bits, every other two seconds. */
Test(diagnosis_bus_words, busy_again_and_again)
{
    struct story *s = story_new();
    for (int i = 0; i < 6; i++)
        for (double t = 0; t < 2; t += 146.0 / 250000.0 / 0.8)
            story_frame(s, 4 * i + t, 0x18FEF100, "FFFFFFFFFFFFFFFF");
    story_background(s, 0, 24);
    struct outcome *o = story_tell(s);

    cr_expect_eq(find(o, "bus-load-high")->count, 6);
    cr_expect_eq(times_said(find(o, "bus-load-high"), "70 % and more from"), 4);
    outcome_free(o);
}

/* Error frames of the transceiver, which say nothing of their kind. */
Test(diagnosis_bus_words, a_burst_of_no_stated_kind)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    for (int k = 0; k < 20; k++)
        story_error(s, 10 + 0.02 * k, 0x10, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "bus-error-burst", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect(strstr(f->title, "of no stated kind"), "%s", f->title);
    outcome_free(o);
}
