/* Lists of trouble codes over time, requests to clear them, and ceilings. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "support/story.h"

static uint32_t dm1(uint8_t address)
{
    return story_id(6, DBR_PGN_DM1, 255, address);
}

static const struct dbr_trouble *only(const struct outcome *o)
{
    cr_assert_eq(o->history->troubles.count, 1, "%zu codes", o->history->troubles.count);
    return &o->history->troubles.items[0];
}

/* A list in several frames (BAM), SAE J1939-21 5.10. */
static void tell_long(struct story *s, double at, uint8_t source, const uint8_t *data, unsigned size)
{
    char hex[64];
    unsigned packets = (size + 6) / 7;

    snprintf(hex, sizeof hex, "20%02X%02X%02XFFCAFE00", size & 0xFF, size >> 8, packets);
    story_frame(s, at, story_id(7, 60416, 255, source), hex);
    for (unsigned p = 0; p < packets; p++) {
        size_t used = (size_t)snprintf(hex, sizeof hex, "%02X", (uint8_t)(p + 1));
        for (unsigned i = 7 * p; i < 7 * p + 7; i++)
            used += (size_t)snprintf(hex + used, sizeof hex - used, "%02X",
                                     i < size ? data[i] : 0xFF);
        story_frame(s, at + 0.05 * (p + 1), story_id(7, 60160, 255, source), hex);
    }
}

Test(tracking_trouble_codes, counts_lamps_and_returns)
{
    struct story *s = story_new();
    story_background(s, 0, 10);
    story_frame(s, 1, dm1(140), "04FF64000401FFFF");
    story_frame(s, 2, dm1(140), "00FF00000000FFFF");
    story_frame(s, 3, dm1(140), "10CF64000402FFFF");
    story_frame(s, 4, dm1(140), "00FF00000000FFFF");
    story_frame(s, 5, dm1(140), "04FF64000403FFFF");
    story_frame(s, 6, dm1(140), "FFFFFFFFFFFFFFFF"); /* says nothing: the code has not gone */
    struct outcome *o = story_tell(s);
    const struct dbr_trouble *t = only(o);

    cr_expect_eq(t->reports, 3);
    cr_expect_eq(t->first_count, 1);
    cr_expect_eq(t->code.count, 3);
    cr_expect_eq(t->returns, 2);
    cr_expect_eq(t->returned_ns, 5000000000);
    cr_expect_eq(t->end, DBR_TROUBLE_STAYS);
    cr_expect_eq(t->lamps.state[DBR_LAMP_RED], DBR_LAMP_ON);
    cr_expect_eq(t->lamps.flash[DBR_LAMP_RED], DBR_FLASH_SLOW);
    cr_expect_eq(t->lamps.state[DBR_LAMP_AMBER], DBR_LAMP_ON);
    cr_expect_eq(t->lamps.state[DBR_LAMP_PROTECT], DBR_LAMP_OFF);
    outcome_free(o);
}

Test(tracking_trouble_codes, one_of_several_codes_goes_away)
{
    static const uint8_t both[] = {4, 0xFF, 100, 0, 4, 1, 110, 0, 3, 1};
    struct story *s = story_new();
    story_background(s, 0, 10);
    tell_long(s, 1, 140, both, sizeof both);
    tell_long(s, 2, 140, both, sizeof both);
    story_frame(s, 3, dm1(140), "04FF6E000301FFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_troubles *all = &o->history->troubles;

    cr_assert_eq(all->count, 2);
    cr_expect_eq(all->items[0].end, DBR_TROUBLE_GONE);
    cr_expect_eq(all->items[0].gone_ns, 3000000000);
    cr_expect_eq(all->items[1].end, DBR_TROUBLE_STAYS);
    cr_expect_eq(all->items[1].reports, 3);
    cr_expect_not(all->items[1].alone);
    outcome_free(o);
}

Test(tracking_trouble_codes, one_parameter_with_two_failure_modes_is_two_codes)
{
    static const uint8_t both[] = {4, 0xFF, 100, 0, 4, 1, 100, 0, 3, 1};
    struct story *s = story_new();
    story_background(s, 0, 5);
    tell_long(s, 1, 140, both, sizeof both);
    story_frame(s, 2, dm1(141), "04FF64000401FFFF"); /* and another ECU has its own */
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->troubles.count, 3);
    outcome_free(o);
}

Test(tracking_trouble_codes, what_became_of_a_code_that_is_told_no_more)
{
    struct story *s = story_new();
    story_background(s, 0, 40);
    /* lists stop, the ECU goes on */
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, 40, "0000000000000000");
    story_beat(s, dm1(140), 1.0, 0, 10, "04FF64000401FFFF");
    struct outcome *o = story_tell(s);
    cr_expect_eq(only(o)->end, DBR_TROUBLE_UNTOLD);
    outcome_free(o);

    s = story_new();
    story_background(s, 0, 40);
    /* the ECU falls silent as a whole */
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, 10, "0000000000000000");
    story_beat(s, dm1(140), 1.0, 0, 10, "04FF64000401FFFF");
    o = story_tell(s);
    cr_expect_eq(only(o)->end, DBR_TROUBLE_UNKNOWN);
    outcome_free(o);
}

/* An active fault is told every second: who was heard for long without a list had none. */
Test(tracking_trouble_codes, the_first_list_after_a_while_is_news)
{
    struct story *s = story_new();
    story_background(s, 0, 40);
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, 40, "0000000000000000");
    story_beat(s, dm1(140), 1.0, 20, 40, "04FF64000401FFFF");
    struct outcome *o = story_tell(s);
    cr_expect_not(only(o)->from_start);
    outcome_free(o);

    s = story_new();
    story_background(s, 0, 40);
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 19, 40, "0000000000000000");
    story_beat(s, dm1(140), 1.0, 20, 40, "04FF64000401FFFF");
    o = story_tell(s);
    cr_expect(only(o)->from_start, "it was there as soon as its ECU was");
    outcome_free(o);
}

Test(tracking_trouble_codes, a_list_too_short_is_counted_and_says_nothing)
{
    struct story *s = story_new();
    story_background(s, 0, 5);
    story_frame(s, 1, dm1(140), "04FF640004");
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->troubles.count, 0);
    cr_assert_eq(o->history->troubles.sender_count, 1);
    cr_expect_eq(o->history->troubles.senders[0].malformed, 1);
    cr_expect_eq(o->history->troubles.senders[0].lists, 0);
    outcome_free(o);
}

Test(tracking_trouble_codes, codes_beyond_the_ceiling_are_counted)
{
    struct story *s = story_new();
    story_background(s, 0, 2);
    for (unsigned i = 0; i < DBR_TROUBLES_MAX + 3; i++) {
        char hex[17];
        snprintf(hex, sizeof hex, "04FF%02X%02X0401FFFF", (i + 1) & 0xFF, (i + 1) >> 8);
        story_frame(s, 0.1 + 0.001 * i, dm1((uint8_t)(130 + i % 100)), hex);
    }
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->troubles.count, DBR_TROUBLES_MAX);
    cr_expect_eq(o->history->troubles.beyond, 3);
    cr_expect_geq(o->history->events_dropped, 3);
    outcome_free(o);
}

Test(tracking_trouble_codes, who_asked_to_clear_and_what_the_answer_was)
{
    struct story *s = story_new();
    story_background(s, 0, 20);
    /* DM11 to 140: done; DM3 to all: refused by 141; DM11 without answer; a code alone: denied */
    story_frame(s, 1.0, story_id(6, 59904, 140, 249), "D3FE00");
    story_frame(s, 1.1, story_id(6, 59392, 255, 140), "00FFFFFFF9D3FE00");
    story_frame(s, 3.0, story_id(6, 59904, 255, 249), "CCFE00");
    story_frame(s, 3.1, story_id(6, 59392, 255, 141), "01FFFFFFF9CCFE00");
    story_frame(s, 5.0, story_id(6, 59904, 140, 249), "D3FE00");
    story_frame(s, 7.0, story_id(6, 59392, 255, 140), "00FFFFFFF9D3FE00"); /* too late */
    story_frame(s, 9.0, story_id(6, DBR_PGN_DM22, 140, 249), "11FFFFFFFF640004");
    story_frame(s, 9.1, story_id(6, DBR_PGN_DM22, 249, 140), "1301FFFFFF640004");
    story_frame(s, 10., story_id(6, 59904, 140, 249), "CAFE00"); /* asks for DM1: clears nothing */
    struct outcome *o = story_tell(s);
    const struct dbr_troubles *t = &o->history->troubles;
    static const struct {
        enum dbr_clear_kind kind;
        enum dbr_clear_answer answer;
        uint8_t address;
    } rows[] = {{DBR_CLEAR_ACTIVE, DBR_CLEAR_DONE, 140},
                {DBR_CLEAR_PREVIOUS, DBR_CLEAR_REFUSED, 255},
                {DBR_CLEAR_ACTIVE, DBR_CLEAR_UNANSWERED, 140},
                {DBR_CLEAR_ONE, DBR_CLEAR_DENIED, 140}};

    cr_assert_eq(t->clear_count, 4);
    for (size_t i = 0; i < 4; i++) {
        cr_expect_eq(t->clears[i].kind, rows[i].kind, "%zu", i);
        cr_expect_eq(t->clears[i].answer, rows[i].answer, "%zu", i);
        cr_expect_eq(t->clears[i].address, rows[i].address, "%zu", i);
        cr_expect_eq(t->clears[i].requester, 249);
    }
    cr_expect_eq(t->clears[1].answered_by, 141);
    cr_expect_eq(t->clears[3].code.spn, 100);
    outcome_free(o);
}

/* SAE J1939-73 5.7.13: a reminder every 5 s, else broadcasts start again after 6 s. */
Test(tracking_trouble_codes, how_long_an_order_to_stop_holds)
{
    static const struct {
        double reminder, start; /* < 0: none */
        double end;
        bool open;
    } rows[] = {
        {-1, -1, 16, false},   /* forgotten */
        {15, -1, 21, false},   /* reminded once */
        {-1, 12, 12, false},   /* taken back */
        {17, -1, 16, false},   /* reminded too late */
        {26, -1, 16, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const uint32_t id = story_id(6, DBR_PGN_DM13, 255, 249);
        struct story *s = story_new();
        story_background(s, 0, 30);
        story_frame(s, 10, id, "3FFFFFFFFFFFFFFF");
        if (rows[i].reminder > 0)
            story_frame(s, rows[i].reminder, id, "FFFFFF0FFFFFFFFF");
        if (rows[i].start > 0)
            story_frame(s, rows[i].start, id, "7FFFFFFFFFFFFFFF");
        struct outcome *o = story_tell(s);
        cr_assert_eq(o->history->troubles.stop_count, 1, "row %zu", i);
        const struct dbr_broadcast_stop *stop = &o->history->troubles.stops[0];
        cr_expect_float_eq((double)stop->end_ns / 1e9, rows[i].end, 1e-6, "row %zu", i);
        cr_expect_eq(stop->open, rows[i].open, "row %zu", i);
        outcome_free(o);
    }
}

Test(tracking_trouble_codes, any_size_of_batch_gives_the_same_history)
{
    struct dbr_frame frames[64] = {{0}};
    const struct dbr_tracking_options options = {.bitrate = 250000};
    struct dbr_recording_info info = {.time_base = DBR_TIME_EPOCH, .interface_count = 1,
                                      .interfaces = {"can0"}};
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);

    for (size_t i = 0; i < 64; i++) {
        const uint8_t data[8] = {4, 0xFF, (uint8_t)(i % 3 ? 100 : 0), 0, i % 3 ? 4 : 0, 1, 255, 255};
        frames[i] = (struct dbr_frame){.at_ns = (int64_t)i * 1000000000, .id = dm1(140),
                                       .flags = DBR_FRAME_EXTENDED, .length = 8};
        memcpy(frames[i].data, data, 8);
    }
    for (size_t size = 1; size <= 64; size *= 4) {
        struct dbr_tracking *t = dbr_tracking_new(definitions, &options, NULL);
        for (size_t i = 0; i < 64; i += size)
            dbr_tracking_frames(t, frames + i, size);
        const struct dbr_history *h = dbr_tracking_finish(t, &info, NULL);
        cr_assert_eq(h->troubles.count, 1);
        cr_expect_eq(h->troubles.items[0].reports, 42, "batches of %zu", size);
        cr_expect_eq(h->troubles.items[0].returns, 20, "batches of %zu", size);
        dbr_tracking_free(t);
    }
    dbr_definitions_free(definitions);
}
