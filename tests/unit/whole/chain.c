/*
 * chain.c - the chain of an implement, told for every moment of the demo recordings:
 * the first link that does not hold, and why.
 */
#include <criterion/criterion.h>

#include "support/whole.h"

#define SAMPLE(name) SOURCE_DIRECTORY "/samples/" name

static const struct dbr_link_interval *link_at(const struct whole *w, enum dbr_link link, double t)
{
    cr_assert_eq(w->history->implement_count, 1);
    const struct dbr_link_story *story = &w->history->implements[0].links[link];
    for (size_t i = 0; i < story->count; i++)
        if ((double)story->items[i].start_ns / 1e9 <= t && t <= (double)story->items[i].end_ns / 1e9)
            return &story->items[i];
    return NULL;
}

Test(whole_chain, the_first_link_that_does_not_hold)
{
    static const struct {
        const char *path;
        double at;
        int first; /* enum dbr_link; -1: all hold */
        enum dbr_link_reason reason;
    } rows[] = {
        {SAMPLE("healthy.log"), 9.5, DBR_LINK_SPEED, DBR_REASON_STANDING},
        {SAMPLE("healthy.log"), 25.0, -1, DBR_REASON_HEARD},
        {SAMPLE("healthy.log"), 38.0, DBR_LINK_WORKING, DBR_REASON_RAISED}, /* headland */
        {SAMPLE("axle-sensor-dead.log"), 25.0, DBR_LINK_SPEED, DBR_REASON_OWN_SPEED_DEAD},
        {SAMPLE("axle-sensor-repaired.log"), 25.0, -1, DBR_REASON_HEARD},
        {SAMPLE("axle-message-stops.log"), 30.0, DBR_LINK_SPEED, DBR_REASON_OWN_SPEED_GONE},
        /* the spreader is known as one by then, and has waited for a controller long enough */
        {SAMPLE("controller-absent.log.gz"), 45.0, DBR_LINK_CONTROLLER,
         DBR_REASON_CONTROLLER_NONE},
        {SAMPLE("setpoint-zero.log.gz"), 25.0, DBR_LINK_SETPOINT, DBR_REASON_SETPOINT_ZERO},
        {SAMPLE("drive-not-engaged.log.gz"), 25.0, DBR_LINK_METERING, DBR_REASON_METERS_STAND},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct whole *w = whole_read(&rows[i].path, 1);
        int first = -1;
        enum dbr_link_reason reason = DBR_REASON_HEARD;
        for (int link = DBR_LINKS - 1; link >= 0; link--) {
            const struct dbr_link_interval *at = link_at(w, (enum dbr_link)link, rows[i].at);
            if (at && at->answer == DBR_ANSWER_FAILED) {
                first = link;
                reason = at->reason;
            }
        }
        cr_expect_eq(first, rows[i].first, "%s at %.1f s: %d", rows[i].path, rows[i].at, first);
        cr_expect_eq(reason, rows[i].reason, "%s at %.1f s: %s", rows[i].path, rows[i].at,
                     dbr_link_reason_words(reason));
        whole_free(w);
    }
}

/* Intervals leave no gap and do not overlap: at each moment a link has one answer. */
Test(whole_chain, every_moment_has_one_answer)
{
    struct whole *w = whole_read((const char *[]){SAMPLE("booms-drop-out.pcapng")}, 1);

    for (size_t link = 0; link < DBR_LINKS; link++) {
        const struct dbr_link_story *story = &w->history->implements[0].links[link];
        cr_assert_gt(story->count, 0);
        for (size_t i = 1; i < story->count; i++)
            cr_assert_eq(story->items[i].start_ns, story->items[i - 1].end_ns);
        cr_assert_eq(story->items[story->count - 1].end_ns, w->history->end_ns);
    }
    whole_free(w);
}
