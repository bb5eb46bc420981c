/*
 * Orders of a service tool: what is an answer to which, and what is none. SAE J1939-73 5.7.11,
 * 5.7.13 and 5.7.22 (DM11, DM13, DM22), SAE J1939-21 5.4 (request, acknowledgement).
 */
#include <criterion/criterion.h>

#include "drawbar/can_id.h"
#include "support/story.h"

#define TOOL 249u
#define ECU 140u

static const char stop_all[] = "3FFFFFFFFFFFFFFF";
static const char hold_all[] = "FFFFFF0FFFFFFFFF";
static const char start_all[] = "7FFFFFFFFFFFFFFF";

static struct story *begin(void)
{
    struct story *s = story_new();
    story_background(s, 0, 30);
    return s;
}

static void request(struct story *s, double at, uint8_t to, const char *group)
{
    story_frame(s, at, story_id(6, DBR_PGN_REQUEST, to, TOOL), group);
}

static void acknowledge(struct story *s, double at, uint8_t from, const char *hex)
{
    story_frame(s, at, story_id(6, DBR_PGN_ACKNOWLEDGE, 255, from), hex);
}

static void order(struct story *s, double at, uint8_t from, uint8_t to, const char *hex)
{
    story_frame(s, at, story_id(6, DBR_PGN_DM13, to, from), hex);
}

/* Only this ECU, of this group, in words that mean an answer, on this bus: the others answer
 * somebody else. */
Test(tracking_service_orders, what_answers_a_request_to_clear)
{
    static const struct {
        const char *what;
        uint8_t from, bus;
        const char *hex;
        enum dbr_clear_answer answer;
    } rows[] = {
        {"done", ECU, 0, "00FFFFFFF9D3FE00", DBR_CLEAR_DONE},
        {"busy", ECU, 0, "03FFFFFFF9D3FE00", DBR_CLEAR_BUSY},
        {"another ECU", 141, 0, "00FFFFFFF9D3FE00", DBR_CLEAR_UNANSWERED},
        {"the other list", ECU, 0, "00FFFFFFF9CCFE00", DBR_CLEAR_UNANSWERED},
        {"another group", ECU, 0, "00FFFFFFF9CAFE00", DBR_CLEAR_UNANSWERED},
        {"no known control byte", ECU, 0, "04FFFFFFF9D3FE00", DBR_CLEAR_UNANSWERED},
        {"cut short", ECU, 0, "00FFFFFFF9D3FE", DBR_CLEAR_UNANSWERED},
        {"another bus", ECU, 1, "00FFFFFFF9D3FE00", DBR_CLEAR_UNANSWERED},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = begin();
        request(s, 10, ECU, "D3FE00");
        story_on(s, rows[i].bus);
        acknowledge(s, 10.1, rows[i].from, rows[i].hex);
        struct outcome *o = story_tell(s);
        cr_assert_eq(o->history->troubles.clear_count, 1, "%s", rows[i].what);
        cr_expect_eq(o->history->troubles.clears[0].answer, rows[i].answer, "%s", rows[i].what);
        outcome_free(o);
    }
}

/* The first answer counts; a second one has no open request. */
Test(tracking_service_orders, one_answer_to_one_request)
{
    struct story *s = begin();

    request(s, 10, ECU, "D3FE00");
    acknowledge(s, 10.1, ECU, "01FFFFFFF9D3FE00");
    acknowledge(s, 10.2, ECU, "00FFFFFFF9D3FE00");
    request(s, 15, 255, "D3FE"); /* cut: asks for nothing */
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->troubles.clear_count, 1);
    cr_expect_eq(o->history->troubles.clears[0].answer, DBR_CLEAR_REFUSED);
    cr_expect_eq(o->history->troubles.clears[0].answered_ns / 1000000, 10100);
    outcome_free(o);
}

/* DM22: 17 asks for an active code, 18 says done, 19 no, with a reason; 1 is "access denied". */
Test(tracking_service_orders, one_code_and_what_came_of_it)
{
    static const struct {
        const char *what, *hex;
        enum dbr_clear_answer answer;
    } rows[] = {{"done", "12FFFFFFFF640004", DBR_CLEAR_DONE},
                {"denied", "1301FFFFFF640004", DBR_CLEAR_DENIED},
                {"unknown code", "1302FFFFFF640004", DBR_CLEAR_REFUSED},
                {"no known control byte", "20FFFFFFFF640004", DBR_CLEAR_UNANSWERED},
                {"cut short", "12FFFFFFFF64", DBR_CLEAR_UNANSWERED}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = begin();
        story_frame(s, 9, story_id(6, DBR_PGN_DM22, TOOL, ECU), rows[i].hex); /* asked by nobody */
        story_frame(s, 10, story_id(6, DBR_PGN_DM22, ECU, TOOL), "11FFFFFFFF640004");
        story_frame(s, 10.1, story_id(6, DBR_PGN_DM22, TOOL, ECU), rows[i].hex);
        struct outcome *o = story_tell(s);
        cr_assert_eq(o->history->troubles.clear_count, 1, "%s", rows[i].what);
        const struct dbr_trouble_clear *clear = &o->history->troubles.clears[0];
        cr_expect_eq(clear->answer, rows[i].answer, "%s", rows[i].what);
        cr_expect(clear->active);
        cr_expect_eq(clear->code.fmi, 4);
        outcome_free(o);
    }
}

/* An order is of one requester to one receiver on one bus; nobody else prolongs or ends it. */
Test(tracking_service_orders, who_prolongs_and_who_ends_an_order)
{
    static const struct {
        const char *what;
        uint8_t from, to, bus;
        const char *hex;
        double end;
    } rows[] = {{"its own reminder", TOOL, 255, 0, hold_all, 20},
                {"stop again", TOOL, 255, 0, stop_all, 20},
                {"its own end", TOOL, 255, 0, start_all, 14},
                {"somebody else", 248, 255, 0, start_all, 16},
                {"to somebody else", TOOL, ECU, 0, start_all, 16},
                {"another bus", TOOL, 255, 1, start_all, 16},
                {"an order of nothing", TOOL, 255, 0, "FFFFFFFFFFFFFFFF", 16}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = begin();
        order(s, 5, TOOL, 255, hold_all);  /* nothing to hold yet */
        order(s, 6, TOOL, 255, start_all); /* nothing to end */
        order(s, 10, TOOL, 255, stop_all);
        story_on(s, rows[i].bus);
        order(s, 14, rows[i].from, rows[i].to, rows[i].hex);
        struct outcome *o = story_tell(s);
        cr_assert_eq(o->history->troubles.stop_count, 1, "%s", rows[i].what);
        cr_expect_float_eq((double)o->history->troubles.stops[0].end_ns / 1e9, rows[i].end, 1e-6,
                           "%s", rows[i].what);
        outcome_free(o);
    }
}

/* A tool that goes wild: what is beyond the ceilings is counted. */
Test(tracking_service_orders, orders_beyond_the_ceilings_are_counted)
{
    struct story *s = begin();

    for (unsigned i = 0; i < DBR_TROUBLE_CLEARS_MAX + 2; i++)
        request(s, 5 + 0.01 * i, ECU, "D3FE00");
    story_frame(s, 8, story_id(6, DBR_PGN_DM22, ECU, TOOL), "11FFFFFFFF640004");
    for (unsigned i = 0; i < DBR_BROADCAST_STOPS_MAX + 3; i++)
        order(s, 10 + 0.01 * i, TOOL, (uint8_t)(100 + i), stop_all);
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->troubles.clear_count, DBR_TROUBLE_CLEARS_MAX);
    cr_expect_eq(o->history->troubles.stop_count, DBR_BROADCAST_STOPS_MAX);
    cr_expect_eq(o->history->troubles.beyond, 6);
    outcome_free(o);
}
