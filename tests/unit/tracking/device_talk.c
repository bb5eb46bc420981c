/*
 * What implement and controller say about a description, beyond the usual upload: who is meant,
 * what is kept of refusals, and where an implement is that moved. ISO 11783-10 annex B.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "support/pool.h"
#include "support/story_long.h"

#define SPREADER 128u
#define CONTROLLER 247u

static struct story *begin(void)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_claim(s, 0.5, SPREADER, NAME_SPREADER);
    story_beat(s, story_id(3, DBR_PGN_PROCESS_DATA, 255, CONTROLLER), 2.0, 0.6, 60,
               "FEFFFFFF0000FFFF");
    return s;
}

static void tell(struct story *s, double at, uint8_t from, uint8_t to, const char *hex)
{
    story_frame(s, at, story_id(5, DBR_PGN_PROCESS_DATA, to, from), hex);
}

/* An upload of the objects in `b`; `stop_after` as in struct long_message. */
static double upload(struct story *s, double at, uint8_t from, const struct bytes *b,
                     size_t stop_after)
{
    struct bytes message = {0};

    bytes_integer(&message, 0x61, 1);
    bytes_add(&message, b->data, b->length);
    double end = story_long(s, at,
                            &(struct long_message){.from = from,
                                                   .to = CONTROLLER,
                                                   .pgn = DBR_PGN_PROCESS_DATA,
                                                   .data = message.data,
                                                   .length = message.length,
                                                   .stop_after = stop_after});
    bytes_free(&message);
    return end;
}

static double upload_spreader(struct story *s, double at, uint8_t from)
{
    struct bytes b = {0};

    pool_spreader(&b, NULL);
    double end = upload(s, at, from, &b, 0);
    bytes_free(&b);
    return end;
}

static struct bytes named(const char *designator)
{
    struct bytes b = {0};

    pool_device(&b, &(struct pool_device){designator, "1", "2", 1, "1234567", "1234567", ""});
    return b;
}

static const struct dbr_device_story *at_address(const struct outcome *o, uint8_t address)
{
    for (size_t i = 0; i < o->history->device_count; i++)
        if (o->history->devices[i].address == address)
            return &o->history->devices[i];
    cr_assert_fail("no device at %u", address);
    return NULL;
}

Test(tracking_device_talk, what_an_answer_names_is_told_and_no_more)
{
    static const struct {
        const char *answer, *words;
    } rows[] = {
        {"9101FFFF0C0002FF",
         "the controller did not activate it: errors in it; object 12: unknown reference"},
        {"910103000C00FFFF", "the controller did not activate it: errors in it; object 12 of parent 3"},
        {"9101FFFFFFFFFFFF", "the controller did not activate it: errors in it"},
        {"910CFFFFFFFFFFFF", "the controller did not activate it: another error, another "
                             "description has its label"},
        {"7101FFFFFFFFFFFF", "the controller did not take it: out of memory"},
        {"B10101FFFFFFFFFF", "the controller did not delete it"},
    };
    char text[300];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = begin();
        double at = upload_spreader(s, 8.0, SPREADER);
        tell(s, at + 0.2, CONTROLLER, SPREADER, rows[i].answer);
        struct outcome *o = story_tell(s);
        const struct dbr_device_story *d = at_address(o, SPREADER);
        cr_assert_eq(d->refusal_count, 1, "row %zu", i);
        cr_expect_str_eq(dbr_device_refusal_text(text, sizeof text, &d->refusals[0]),
                         rows[i].words);
        outcome_free(o);
    }
}

/* Some buffers are small: what does not fit is cut, and nothing is written beyond. */
Test(tracking_device_talk, words_are_cut_where_there_is_no_room)
{
    const struct dbr_device_refusal refusal = {DBR_REFUSED_ACTIVATION, 0, 0x0F, 3, 12, 0x0F};
    char whole[400], part[400];

    dbr_device_refusal_text(whole, sizeof whole, &refusal);
    for (size_t size = 1; size <= strlen(whole) + 1; size++) {
        memset(part, '#', sizeof part);
        dbr_device_refusal_text(part, size, &refusal);
        cr_expect_eq(strlen(part), size - 1, "%zu", size);
        cr_expect_eq(strncmp(part, whole, size - 1), 0, "%zu: %s", size, part);
        cr_expect_eq(part[size], '#', "%zu", size);
    }
}

Test(tracking_device_talk, the_first_refusals_are_kept_and_all_are_counted)
{
    struct story *s = begin();

    for (unsigned i = 0; i < DBR_DEVICE_REFUSALS_MAX + 3; i++)
        tell(s, 8.0 + 0.1 * i, CONTROLLER, SPREADER, i == 0 ? "5101FFFFFFFFFFFF" : "7102FFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_device_story *d = at_address(o, SPREADER);

    cr_expect_eq(d->refused, DBR_DEVICE_REFUSALS_MAX + 3);
    cr_expect_eq(d->refusal_count, DBR_DEVICE_REFUSALS_MAX);
    cr_expect_eq(d->refusals[0].kind, DBR_REFUSED_MEMORY);
    cr_expect_eq(d->refusals[1].kind, DBR_REFUSED_TRANSFER);
    outcome_free(o);
}

/* An answer to everyone, and one that is cut, concern nobody's description. */
Test(tracking_device_talk, what_is_about_nobody)
{
    struct story *s = begin();

    tell(s, 8.0, CONTROLLER, 255, "91FFFFFFFFFFFFFF");
    tell(s, 8.1, CONTROLLER, SPREADER, "9101FFFFFFFF");
    tell(s, 8.2, 254, CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->device_count, 0);
    outcome_free(o);
}

/* The versions of both sides; what the controller tells everyone is about no device. */
Test(tracking_device_talk, each_side_tells_its_version)
{
    struct story *s = begin();

    tell(s, 7.0, CONTROLLER, SPREADER, "1004FF1100010602");
    tell(s, 7.1, SPREADER, CONTROLLER, "1003FF1100010602");
    tell(s, 7.2, CONTROLLER, 255, "1002FF1100010602");
    tell(s, 7.3, SPREADER, CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    const struct dbr_device_story *d = at_address(o, SPREADER);

    cr_expect_eq(d->version, 3);
    cr_expect_eq(d->controller_version, 4);
    outcome_free(o);
}

/* A swapped implement at the same address is another device; each keeps what it told. */
Test(tracking_device_talk, an_address_that_another_took_over)
{
    struct story *s = begin();
    struct bytes other = named("Another");

    upload_spreader(s, 8.0, SPREADER);
    story_claim(s, 20.0, 140, NAME_SPREADER);
    story_claim(s, 21.0, SPREADER, NAME_WEIGHER);
    upload(s, 25.0, SPREADER, &other, 0);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->device_count, 2);
    cr_expect_str_eq(at_address(o, SPREADER)->description->designator, "Another");
    cr_expect_str_eq(at_address(o, 140)->description->designator, "Granule spreader");
    cr_expect_eq(dbr_history_device(o->history, 0, SPREADER), at_address(o, SPREADER));
    outcome_free(o);
    bytes_free(&other);
}

/* It moved and said no more of its description: it is where its NAME is in the end. */
Test(tracking_device_talk, a_device_is_where_its_name_is)
{
    struct story *s = begin();

    upload_spreader(s, 8.0, SPREADER);
    story_claim(s, 20.0, 140, NAME_SPREADER);
    story_claim(s, 21.0, SPREADER, NAME_WEIGHER);
    story_claim(s, 22.0, 141, NAME_TRACTOR);
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->device_count, 1);
    cr_expect_eq(o->history->devices[0].address, 140);
    cr_expect(dbr_device_story_complete(&o->history->devices[0]));
    outcome_free(o);
}

/* An implement is heard before it claims, as in a recording that began later: one device. */
Test(tracking_device_talk, a_device_without_a_name_gets_it_later)
{
    struct story *s = story_new();
    struct bytes b = named("Late");

    story_background(s, 0, 60);
    upload(s, 8.0, 150, &b, 0);
    story_claim(s, 20.0, 150, NAME_WEIGHER);
    tell(s, 21.0, 150, CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->device_count, 1);
    cr_expect(o->history->devices[0].named);
    cr_expect_eq(o->history->devices[0].name, NAME_WEIGHER);
    cr_expect(o->history->devices[0].activated);
    outcome_free(o);
    bytes_free(&b);
}

/* Units of one address on two buses are two; the NAME of one is not looked for on the other. */
Test(tracking_device_talk, another_bus_is_another_device)
{
    struct story *s = begin();

    upload_spreader(s, 8.0, SPREADER);
    story_on(s, 1);
    tell(s, 30, SPREADER, CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);

    cr_assert_eq(o->history->device_count, 2);
    cr_expect_not_null(dbr_history_device(o->history, 0, SPREADER)->description);
    cr_expect_null(dbr_history_device(o->history, 1, SPREADER)->description);
    cr_expect_not(dbr_history_device(o->history, 0, SPREADER)->activated);
    cr_expect(dbr_history_device(o->history, 1, SPREADER)->activated);
    outcome_free(o);
}

/* A new upload after a deletion, or after it was active, replaces the old one whole. */
Test(tracking_device_talk, what_was_deleted_or_in_use_is_replaced)
{
    static const char *const before[] = {"A1FFFFFFFFFFFFFF", "81FFFFFFFFFFFFFF"};

    for (size_t i = 0; i < 2; i++) {
        struct story *s = begin();
        struct bytes other = named("Another");
        double at = upload_spreader(s, 8.0, SPREADER);
        tell(s, at + 0.1, SPREADER, CONTROLLER, before[i]);
        upload(s, at + 1, SPREADER, &other, 0);
        struct outcome *o = story_tell(s);
        const struct dbr_device_story *d = at_address(o, SPREADER);
        cr_expect_str_eq(d->description->designator, "Another");
        cr_expect_eq(d->description->object_count, 1);
        cr_expect_eq(d->transfers, 1);
        cr_expect_not(d->deleted || d->activated);
        outcome_free(o);
        bytes_free(&other);
    }
}

/* A try that broke off later does not take away what came whole before. */
Test(tracking_device_talk, a_later_failure_keeps_what_was_whole)
{
    struct story *s = begin();
    struct bytes b = {0};

    double at = upload_spreader(s, 8.0, SPREADER);
    pool_spreader(&b, NULL);
    upload(s, at + 1, SPREADER, &b, 20);
    struct outcome *o = story_tell(s);
    const struct dbr_device_story *d = at_address(o, SPREADER);

    cr_expect_eq(d->failed, 1);
    cr_expect_eq(d->failure.received, 20);
    cr_expect(dbr_device_story_complete(d));
    cr_expect_eq(d->description->object_count, POOL_SPREADER_OBJECTS);
    outcome_free(o);
    bytes_free(&b);
}

/* A transfer that failed and was not announced, or is of another group, is about no description. */
Test(tracking_device_talk, failed_transfers_that_are_about_something_else)
{
    struct story *s = begin();

    story_frame(s, 8.0, story_id(7, 60416, CONTROLLER, SPREADER), "1001024AFF00CB00");
    story_frame(s, 12.0, story_id(7, 60416, CONTROLLER, SPREADER), "1001024AFFCAFE00");
    story_frame(s, 16.0, story_id(7, 60416, SPREADER, CONTROLLER), "1001024AFF00CB00");
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->device_count, 0);
    outcome_free(o);
}

/* A designator that is changed where the description itself is not in the recording. */
Test(tracking_device_talk, a_designator_of_what_is_not_known)
{
    struct story *s = begin();

    tell(s, 8.0, SPREADER, CONTROLLER, "C10300024F6BFFFF");
    tell(s, 8.1, CONTROLLER, SPREADER, "D1030000FFFFFFFF");
    struct outcome *o = story_tell(s);
    char text[300];

    cr_expect_null(at_address(o, SPREADER)->description);
    cr_expect_str_eq(dbr_device_story_problem(text, sizeof text, at_address(o, SPREADER)),
                     "it is not in this recording: it was not sent");
    outcome_free(o);
}

Test(tracking_device_talk, more_implements_than_are_kept_are_counted)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    for (unsigned i = 0; i < DBR_DEVICES_MAX + 2; i++)
        tell(s, 8.0 + 0.1 * i, (uint8_t)(100 + i), CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);

    cr_expect_eq(o->history->device_count, DBR_DEVICES_MAX);
    cr_expect_geq(o->history->not_tracked, 2);
    outcome_free(o);
}

/* Parts beyond the ceiling are left out, and it is said that the description is not whole. */
Test(tracking_device_talk, more_parts_than_are_kept)
{
    struct story *s = begin();
    struct bytes part = named("In parts");
    double at = upload(s, 4.0, SPREADER, &part, 0);
    uint64_t left_out = 0;

    for (unsigned i = 1; i < DBR_POOL_PARTS_MAX + 2; i++) {
        part.length = 0;
        pool_element(&part, (uint16_t)i, 4, "Outlet", (uint16_t)i, 0, NULL, 0);
        left_out += i >= DBR_POOL_PARTS_MAX ? part.length : 0;
        at = upload(s, at + 0.05, SPREADER, &part, 0);
    }
    struct outcome *o = story_tell(s);
    const struct dbr_device_story *d = at_address(o, SPREADER);

    cr_expect_eq(d->bytes_beyond, left_out);
    cr_expect_eq(d->description->object_count, DBR_POOL_PARTS_MAX);
    cr_expect_not(dbr_device_story_complete(d));
    outcome_free(o);
    bytes_free(&part);
}
