/* Descriptions as implements send them: by every carrier, in parts, refused, only activated. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/device_story.h"
#include "support/pool.h"
#include "support/story_long.h"

#define PROCESS_DATA 51968u
#define SPREADER 128u
#define CONTROLLER 247u

/* A story with a spreader and a controller; what it uploads, with the command byte before it. */
struct upload {
    struct story *story;
    struct bytes message;
};

static struct upload begin(void)
{
    struct upload u = {.story = story_new()};

    story_background(u.story, 0, 60);
    story_claim(u.story, 0.5, SPREADER, NAME_SPREADER);
    story_beat(u.story, story_id(3, PROCESS_DATA, 255, CONTROLLER), 2.0, 0.6, 60,
               "FEFFFFFF0000FFFF");
    bytes_integer(&u.message, 0x61, 1);
    return u;
}

static void tell(struct upload *u, double at, uint8_t from, uint8_t to, const char *hex)
{
    story_frame(u->story, at, story_id(5, PROCESS_DATA, to, from), hex);
}

static double send(struct upload *u, double at, uint8_t from, uint8_t to)
{
    return story_long(u->story, at,
                      &(struct long_message){.from = from,
                                             .to = to,
                                             .pgn = PROCESS_DATA,
                                             .data = u->message.data,
                                             .length = u->message.length});
}

static struct outcome *end(struct upload *u)
{
    bytes_free(&u->message);
    return story_tell(u->story);
}

static const struct dbr_device_story *only(const struct outcome *o)
{
    cr_assert_eq(o->history->device_count, 1);
    return &o->history->devices[0];
}

/* Sections enough for the extended protocol, which begins beyond 1785 bytes. */
static void add_sections(struct bytes *b, unsigned count)
{
    for (unsigned i = 0; i < count; i++) {
        char name[24];
        snprintf(name, sizeof name, "Outlet %u", i + 1);
        pool_element(b, (uint16_t)(100 + i), 4, name, (uint16_t)(100 + i), 2, NULL, 0);
    }
}

Test(tracking_devices, a_description_comes_by_every_carrier)
{
    static const struct {
        const char *what;
        uint8_t to;
        unsigned sections;
    } rows[] = {{"connection", CONTROLLER, 0}, {"extended", CONTROLLER, 90}, {"broadcast", 255, 0}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct upload u = begin();
        pool_spreader(&u.message, NULL);
        add_sections(&u.message, rows[i].sections);
        send(&u, 8.0, SPREADER, rows[i].to);
        struct outcome *o = end(&u);
        const struct dbr_device_story *story = only(o);
        char text[300];
        cr_assert_not_null(story->description, "%s", rows[i].what);
        cr_expect(dbr_device_story_complete(story), "%s", rows[i].what);
        cr_expect_null(dbr_device_story_problem(text, sizeof text, story));
        cr_expect_eq(story->address, SPREADER);
        cr_expect(story->named && story->name == NAME_SPREADER);
        cr_expect_eq(story->description->object_count, POOL_SPREADER_OBJECTS + rows[i].sections);
        cr_expect_str_eq(dbr_element_label(text, sizeof text, o->history, 0, SPREADER, 3),
                         "element 3 \"Left belt\"");
        cr_expect_str_eq(dbr_element_label(text, sizeof text, o->history, 0, SPREADER, 77),
                         "element 77");
        outcome_free(o);
    }
}

Test(tracking_devices, a_stored_description_is_unknown_and_said_to_be)
{
    struct upload u = begin();
    char text[300];

    tell(&u, 7.0, SPREADER, CONTROLLER, "01FFFFFFFFFFFFFF");
    tell(&u, 7.1, CONTROLLER, SPREADER, "11475332342D3037");
    tell(&u, 7.2, SPREADER, CONTROLLER, "81FFFFFFFFFFFFFF");
    tell(&u, 7.3, CONTROLLER, SPREADER, "9100FFFFFFFF00FF");
    struct outcome *o = end(&u);
    const struct dbr_device_story *story = only(o);

    cr_expect_null(story->description);
    cr_expect(story->activated);
    cr_expect_not(dbr_device_story_complete(story));
    cr_expect(story->structure_told);
    cr_expect_arr_eq(story->structure_label, "GS24-07", 7);
    cr_assert_not_null(dbr_device_story_problem(text, sizeof text, story));
    cr_expect_str_eq(text, "it is not in this recording: the controller had it stored, and it was "
                           "only activated");
    outcome_free(o);
}

Test(tracking_devices, an_ecu_that_never_spoke_of_a_description_has_no_story)
{
    struct upload u = begin();

    tell(&u, 7.0, SPREADER, CONTROLLER, "00FFFFFFFFFFFFFF"); /* its version alone */
    tell(&u, 7.1, SPREADER, CONTROLLER, "1004FF1100010602");
    struct outcome *o = end(&u);

    cr_expect_eq(o->history->device_count, 0);
    cr_expect_null(dbr_history_device(o->history, 0, SPREADER));
    outcome_free(o);
}

Test(tracking_devices, parts_make_one_description_and_a_new_device_object_begins_another)
{
    struct upload u = begin();
    struct bytes whole = {0};

    pool_spreader(&whole, NULL);
    bytes_add(&u.message, whole.data, 300);
    double at = send(&u, 8.0, SPREADER, CONTROLLER);
    u.message.length = 1;
    bytes_add(&u.message, whole.data + 300, whole.length - 300);
    at = send(&u, at + 0.1, SPREADER, CONTROLLER);
    struct outcome *o = end(&u);
    cr_expect_eq(only(o)->description->object_count, POOL_SPREADER_OBJECTS);
    cr_expect_eq(only(o)->transfers, 2);
    cr_expect(dbr_device_story_complete(only(o)));
    outcome_free(o);

    u = begin();
    pool_spreader(&u.message, NULL);
    at = send(&u, 8.0, SPREADER, CONTROLLER);
    u.message.length = 1;
    pool_device(&u.message, &(struct pool_device){"Another", "1", "2", 1, "1234567", "1234567", ""});
    send(&u, at + 0.1, SPREADER, CONTROLLER);
    o = end(&u);
    cr_expect_str_eq(only(o)->description->designator, "Another");
    cr_expect_eq(only(o)->description->object_count, 1);
    outcome_free(o);
    bytes_free(&whole);
}

/* After it was switched off, an object sent anew replaces the one of its id. */
Test(tracking_devices, a_part_sent_later_replaces_objects)
{
    struct upload u = begin();

    pool_spreader(&u.message, NULL);
    double at = send(&u, 8.0, SPREADER, CONTROLLER);
    tell(&u, at + 0.1, SPREADER, CONTROLLER, "81FFFFFFFFFFFFFF");
    tell(&u, at + 0.2, CONTROLLER, SPREADER, "9100FFFFFFFF00FF");
    tell(&u, at + 5.0, SPREADER, CONTROLLER, "8100FFFFFFFFFFFF");
    u.message.length = 1;
    pool_element(&u.message, 3, 3, "Front belt", 3, 1, NULL, 0);
    send(&u, at + 5.1, SPREADER, CONTROLLER);
    struct outcome *o = end(&u);
    const struct dbr_device *d = only(o)->description;

    cr_expect_str_eq(dbr_device_element(d, 3)->text, "Front belt");
    cr_expect_eq(d->object_count, POOL_SPREADER_OBJECTS);
    cr_expect_eq(d->problem_count, 0);
    cr_expect_not(only(o)->activated);
    outcome_free(o);
}

/* The recorder missed a packet, or the sender stopped: what came before it is kept, and it is
 * said that there is more. A second try that comes whole makes up for it. */
Test(tracking_devices, a_transfer_that_broke_off_gives_what_is_whole)
{
    for (unsigned row = 0; row < 4; row++) {
        struct upload u = begin();
        struct bytes objects = {0};
        char text[300];
        pool_spreader(&u.message, NULL);
        struct long_message m = {.from = SPREADER,
                                 .to = CONTROLLER,
                                 .pgn = PROCESS_DATA,
                                 .data = u.message.data,
                                 .length = u.message.length,
                                 .stop_after = row % 2 == 0 ? 30 : 0,
                                 .skip = row % 2 == 1 ? 31 : 0};
        double at = story_long(u.story, 8.0, &m);
        if (row >= 2)
            send(&u, at + 5, SPREADER, CONTROLLER);
        struct outcome *o = end(&u);
        const struct dbr_device_story *story = only(o);
        cr_expect_eq(story->failed, 1);
        cr_assert_not_null(story->description);
        cr_expect_str_eq(story->description->designator, "Granule spreader");
        cr_expect_eq(dbr_device_story_complete(story), row >= 2, "row %u", row);
        if (row < 2) {
            /* 30 packets of 7 bytes, less the command byte */
            cr_expect_eq(story->description->length, 209, "row %u", row);
            cr_expect_leq(story->description->read, 209);
            cr_assert_not_null(dbr_device_story_problem(text, sizeof text, story));
            cr_expect_not_null(strstr(text, "is not whole"), "%s", text);
        }
        outcome_free(o);
        bytes_free(&objects);
    }
}

/* Where nothing of it came, an announced transfer that failed is still said. */
Test(tracking_devices, a_transfer_of_which_nothing_came)
{
    struct upload u = begin();
    char text[300];

    tell(&u, 7.5, SPREADER, CONTROLLER, "4100020000FFFFFF");
    tell(&u, 7.6, CONTROLLER, SPREADER, "5100FFFFFFFFFFFF");
    story_frame(u.story, 8.0, story_id(7, 60416, CONTROLLER, SPREADER), "1001024AFF00CB00");
    struct outcome *o = end(&u);

    cr_expect_eq(only(o)->failed, 1);
    cr_expect_null(only(o)->description);
    cr_assert_not_null(dbr_device_story_problem(text, sizeof text, only(o)));
    cr_expect_not_null(strstr(text, "0 of 74 packets came"), "%s", text);
    outcome_free(o);
}

/* ISO 11783-10 annex B: errors in the pool, object 12 of parent 3, unknown reference. */
Test(tracking_devices, what_the_controller_refuses)
{
    static const struct {
        const char *asked, *answer, *words;
    } rows[] = {
        {"81FFFFFFFFFFFFFF", "910103000C0002FF",
         "the controller did not activate it: errors in it; object 12 of parent 3: unknown "
         "reference"},
        {"81FFFFFFFFFFFFFF", "9102FFFFFFFF00FF",
         "the controller did not activate it: out of memory"},
        {"4100020000FFFFFF", "5101FFFFFFFFFFFF", "the controller has no memory for it"},
        {"A1FFFFFFFFFFFFFF", "B10100FFFFFFFFFF",
         "the controller did not delete it: a task needs it"},
        {"C103000141FFFFFF", "D1030001FFFFFFFF",
         "the controller did not change the designator of object 3"},
        {"4100020000FFFFFF", "7102FFFFFFFFFFFF", "the controller did not take it: another error"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct upload u = begin();
        char text[300];
        pool_spreader(&u.message, NULL);
        double at = send(&u, 8.0, SPREADER, CONTROLLER);
        tell(&u, at + 0.1, SPREADER, CONTROLLER, rows[i].asked);
        tell(&u, at + 0.2, CONTROLLER, SPREADER, rows[i].answer);
        struct outcome *o = end(&u);
        cr_assert_eq(only(o)->refused, 1, "%s", rows[i].words);
        cr_assert_eq(only(o)->refusal_count, 1);
        cr_expect_str_eq(dbr_device_refusal_text(text, sizeof text, &only(o)->refusals[0]),
                         rows[i].words);
        cr_expect_not(only(o)->activated || only(o)->deleted);
        cr_expect_str_eq(dbr_device_element(only(o)->description, 3)->text, "Left belt");
        outcome_free(o);
    }
}

Test(tracking_devices, a_designator_changes_unless_the_controller_says_no)
{
    struct upload u = begin();

    pool_spreader(&u.message, NULL);
    double at = send(&u, 8.0, SPREADER, CONTROLLER);
    tell(&u, at + 0.1, SPREADER, CONTROLLER, "C10300024F6BFFFF"); /* object 3, "Ok" */
    tell(&u, at + 0.2, CONTROLLER, SPREADER, "D1030000FFFFFFFF");
    tell(&u, at + 0.3, SPREADER, CONTROLLER, "C10400024E6FFFFF"); /* object 4, "No" */
    tell(&u, at + 0.4, CONTROLLER, SPREADER, "D1040001FFFFFFFF");
    struct outcome *o = end(&u);
    const struct dbr_device *d = only(o)->description;

    cr_expect_str_eq(dbr_device_object(d, 3)->text, "Ok");
    cr_expect_str_eq(dbr_device_object(d, 4)->text, "Right belt");
    outcome_free(o);
}

/* It moves to another address and speaks from there: one device, by its NAME. */
Test(tracking_devices, a_device_keeps_its_story_where_it_moves)
{
    struct upload u = begin();

    pool_spreader(&u.message, NULL);
    double at = send(&u, 8.0, SPREADER, CONTROLLER);
    story_claim(u.story, at + 5, 140, NAME_SPREADER);
    tell(&u, at + 12, 140, CONTROLLER, "81FFFFFFFFFFFFFF");
    struct outcome *o = end(&u);

    cr_expect_eq(only(o)->address, 140);
    cr_expect_eq(dbr_history_device(o->history, 0, SPREADER), only(o), "known by its NAME");
    cr_expect_str_eq(only(o)->description->designator, "Granule spreader");
    outcome_free(o);
}

Test(tracking_devices, the_memory_of_one_description_has_a_ceiling)
{
    struct upload u = begin();
    struct bytes whole = {0};
    char text[300];

    pool_device(&whole, &(struct pool_device){"Large", "1", "2", 1, "1234567", "1234567", ""});
    while (whole.length < DBR_POOL_BYTES_MAX + 1000) {
        uint16_t id = (uint16_t)(1 + whole.length / 240);
        uint16_t references[110];
        for (size_t i = 0; i < 110; i++)
            references[i] = id;
        pool_element(&whole, id, 4, "Outlet", id, 0, references, 110);
    }
    bytes_add(&u.message, whole.data, whole.length);
    send(&u, 8.0, SPREADER, CONTROLLER);
    struct outcome *o = end(&u);

    cr_expect_eq(only(o)->bytes_beyond, whole.length - DBR_POOL_BYTES_MAX);
    cr_expect_not(dbr_device_story_complete(only(o)));
    cr_assert_not_null(dbr_device_story_problem(text, sizeof text, only(o)));
    cr_expect_not_null(strstr(text, "larger than can be kept"), "%s", text);
    outcome_free(o);
    bytes_free(&whole);
}
