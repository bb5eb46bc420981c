/* Which frames belong to an excerpt: windows, addresses, groups, and messages kept whole. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "drawbar/excerpt.h"
#include "drawbar/process_data.h"

#define MS INT64_C(1000000)

/* 129029 is a fast packet (NMEA 2000). */
static const char fast[] =
    "{\"schema\":\"drawbar-messages/1\",\"subject\":\"test\",\"source\":\"NMEA 2000\",\"messages\":["
    "{\"pgn\":129029,\"name\":\"GNSS position data\",\"packing\":\"fast\","
    "\"signals\":[{\"name\":\"SID\",\"byte\":1,\"bits\":8}]}]}";

/* A frame, and whether it must be kept. */
struct told {
    int64_t at_ms;
    uint32_t pgn;
    uint8_t destination, source;
    uint8_t data[8];
    bool wanted;
};

static struct dbr_frame frame_of(const struct told *t)
{
    struct dbr_can_id id = {.priority = 6,
                            .pgn = t->pgn,
                            .source = t->source,
                            .destination = t->destination};
    struct dbr_frame frame = {.at_ns = t->at_ms * MS,
                              .id = dbr_can_id_join(&id),
                              .length = 8,
                              .flags = DBR_FRAME_EXTENDED};

    memcpy(frame.data, t->data, sizeof t->data);
    return frame;
}

static void expect_kept(const struct dbr_excerpt_wish *wish, const struct told *told, size_t count)
{
    struct dbr_error error;
    struct dbr_definitions *definitions = dbr_definitions_new(&error);
    cr_assert_eq(dbr_definitions_load_text(definitions, "fast", fast, strlen(fast), &error), 0, "%s",
                 error.text);
    struct dbr_excerpt *e = dbr_excerpt_new(definitions, wish, &error);

    cr_assert_not_null(e);
    for (size_t i = 0; i < count; i++) {
        struct dbr_frame frame = frame_of(&told[i]);
        dbr_excerpt_learn(e, &frame);
    }
    cr_assert_eq(dbr_excerpt_learned(e, told[count - 1].at_ms * MS, &error), 0);
    for (size_t i = 0; i < count; i++) {
        struct dbr_frame frame = frame_of(&told[i]);
        cr_expect_eq(dbr_excerpt_wants(e, &frame), told[i].wanted, "frame %zu", i);
    }
    cr_expect_eq(dbr_excerpt_beyond(e), 0);
    dbr_excerpt_free(e);
    dbr_definitions_free(definitions);
}

#define EXPECT_KEPT(wish, told) expect_kept(wish, told, sizeof told / sizeof told[0])

#define CONTROL DBR_PGN_TRANSPORT_CONTROL
#define DATA DBR_PGN_TRANSPORT_DATA
#define ALL DBR_ADDRESS_GLOBAL

/* 9 bytes in 2 packets; group 65226, bytes CA FE 00 (J1939-21 5.10). */
#define BAM {0x20, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0}
#define RTS {0x10, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0}
#define CTS {0x11, 2, 1, 0xFF, 0xFF, 0xCA, 0xFE, 0}
#define ACK {0x13, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0}
#define PACKET(n) {n, 1, 2, 3, 4, 5, 6, 7}

Test(excerpt, a_broadcast_that_straddles_the_window_is_kept_whole)
{
    static const struct dbr_window window = {1000 * MS, 2000 * MS};
    static const struct told told[] = {
        {800, CONTROL, ALL, 3, BAM, false}, /* ends before the window */
        {850, DATA, ALL, 3, PACKET(1), false},
        {900, DATA, ALL, 3, PACKET(2), false},
        {940, CONTROL, ALL, 5, BAM, true}, /* goes on in it */
        {950, 61444, ALL, 5, {0}, false},
        {960, DATA, ALL, 7, PACKET(1), false}, /* of nobody's */
        {990, DATA, ALL, 5, PACKET(1), true},
        {1010, DATA, ALL, 5, PACKET(2), true},
        {1500, 61444, ALL, 5, {0}, true},
        {1990, CONTROL, ALL, 3, BAM, true}, /* begins in it */
        {2040, DATA, ALL, 3, PACKET(1), true},
        {2041, 61444, ALL, 3, {0}, false},
        {2090, DATA, ALL, 3, PACKET(2), true},
        {2200, DATA, ALL, 3, PACKET(2), false},
    };
    struct dbr_excerpt_wish wish = {.window_count = 1, .windows = &window};

    EXPECT_KEPT(&wish, told);
}

Test(excerpt, a_connection_is_kept_with_the_answers_of_its_receiver)
{
    static const struct dbr_number_range inside = {65226, 65226};
    static const struct told told[] = {
        {10, CONTROL, 9, 5, RTS, true},
        {11, CONTROL, 5, 9, CTS, true},
        {12, CONTROL, 9, 4, RTS, true}, /* another sender's, of the same group */
        {13, DATA, 9, 5, PACKET(1), true},
        {14, DATA, 9, 8, PACKET(1), false},
        {15, DATA, 9, 5, PACKET(2), true},
        {16, CONTROL, 5, 9, ACK, true},
        {17, CONTROL, 5, 9, {0x11, 2, 1, 0xFF, 0xFF, 0xEB, 0xFE, 0}, false}, /* another group */
        {18, CONTROL, 4, 9, {0xFF, 1, 0xFF, 0xFF, 0xFF, 0xCA, 0xFE, 0}, true},
        {19, 65226, ALL, 5, {0}, true}, /* the same group in a single frame */
        {20, 61444, ALL, 5, {0}, false},
    };
    struct dbr_excerpt_wish wish = {.pgn_count = 1, .pgns = &inside};

    EXPECT_KEPT(&wish, told);
}

Test(excerpt, an_address_means_what_it_sends_and_what_is_sent_to_it_alone)
{
    static const struct dbr_number_range nine = {9, 9};
    static const struct told told[] = {
        {10, CONTROL, 9, 5, RTS, true},     {11, CONTROL, 5, 9, CTS, true},
        {12, DATA, 9, 5, PACKET(1), true},  {13, 61444, ALL, 5, {0}, false},
        {14, 61444, ALL, 9, {0}, true},     {15, 59904, 9, 5, {0}, true},
        {16, 59904, ALL, 5, {0}, false},    {17, DATA, 8, 5, PACKET(2), false},
    };
    struct dbr_excerpt_wish wish = {.address_count = 1, .addresses = &nine};

    EXPECT_KEPT(&wish, told);
}

/* 13 bytes travel in 2 frames. */
Test(excerpt, a_fast_packet_is_kept_whole)
{
    static const struct dbr_window window = {100 * MS, 200 * MS};
    static const struct told told[] = {
        {80, 129029, ALL, 28, {0x40, 13, 1, 2, 3, 4, 5, 6}, true},
        {90, 129025, ALL, 28, {0}, false},
        {110, 129029, ALL, 28, {0x41, 1, 2, 3, 4, 5, 6, 7}, true},
        {190, 129029, ALL, 28, {0x60, 13, 1, 2, 3, 4, 5, 6}, true},
        {210, 129029, ALL, 28, {0x61, 1, 2, 3, 4, 5, 6, 7}, true},
        {290, 129029, ALL, 28, {0x80, 13, 1, 2, 3, 4, 5, 6}, false},
        {310, 129029, ALL, 28, {0x81, 1, 2, 3, 4, 5, 6, 7}, false},
    };
    struct dbr_excerpt_wish wish = {.window_count = 1, .windows = &window};

    EXPECT_KEPT(&wish, told);
}

/* Who writes a destination into the group that a connection is about means the same group. */
Test(excerpt, a_group_with_a_destination_in_it)
{
    static const struct dbr_number_range group = {0xE700, 0xE700};
    static const struct told told[] = {
        {1000, CONTROL, 38, 3, {0x10, 9, 0, 2, 0xFF, 0x26, 0xE7, 0}, true},
        {1010, CONTROL, 3, 38, {0x11, 2, 1, 0xFF, 0xFF, 0x26, 0xE7, 0}, true},
        {1020, DATA, 38, 3, PACKET(1), true},
        {1030, DATA, 38, 3, PACKET(2), true},
        {1040, CONTROL, 3, 38, {0x13, 9, 0, 2, 0xFF, 0x26, 0xE7, 0}, true},
    };
    struct dbr_excerpt_wish wish = {.pgn_count = 1, .pgns = &group};

    EXPECT_KEPT(&wish, told);
}

Test(excerpt, claims_are_kept_from_everywhere_where_they_are_wished_for)
{
    static const struct dbr_window window = {1000 * MS, 2000 * MS};
    struct told told[] = {
        {10, DBR_PGN_ADDRESS_CLAIMED, ALL, 9, {1, 2, 3, 4, 5, 6, 7, 8}, true},
        {20, 61444, ALL, 9, {0}, false},
        {1500, 61444, ALL, 9, {0}, true},
        {3000, DBR_PGN_ADDRESS_CLAIMED, ALL, 9, {1, 2, 3, 4, 5, 6, 7, 8}, true},
    };
    struct dbr_excerpt_wish wish = {.window_count = 1, .windows = &window, .claims = true};

    EXPECT_KEPT(&wish, told);
    wish.claims = false;
    told[0].wanted = told[3].wanted = false;
    EXPECT_KEPT(&wish, told);
}

/* Who is asked for its claim has not restarted: the question is kept with the answer. */
Test(excerpt, requests_for_claims_are_kept_with_them)
{
    static const struct dbr_window window = {1000 * MS, 2000 * MS};
    static const struct told told[] = {
        {10, DBR_PGN_REQUEST, ALL, 254, {0x00, 0xEE, 0x00}, true}, /* 0xEE00 is 60928 */
        {11, DBR_PGN_ADDRESS_CLAIMED, ALL, 9, {1, 2, 3, 4, 5, 6, 7, 8}, true},
        {20, DBR_PGN_REQUEST, 9, 254, {0xCA, 0xFE, 0x00}, false}, /* another group */
    };
    struct dbr_excerpt_wish wish = {.window_count = 1, .windows = &window, .claims = true};

    EXPECT_KEPT(&wish, told);
}

#define VALUE(element, ddi, number) {(element) << 4 | DBR_PROCESS_VALUE, 0, ddi, 0, number, 0, 0, 0}
#define STATUS {0xF0 | DBR_PROCESS_CONTROLLER_STATUS, 0xFF, 0xFF, 0xFF, 1, 0, 0, 0xFF}

/* DDI 6: set-point mass per area; 7: the actual one (ISO 11783-11). */
Test(excerpt, what_holds_when_a_window_begins_is_kept)
{
    static const struct dbr_window windows[] = {{1000 * MS, 2000 * MS}, {5000 * MS, 6000 * MS}};
    struct told told[] = {
        {10, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 9), false}, /* another follows */
        {15, DBR_PGN_PROCESS_DATA, ALL, 247, STATUS, true},
        {20, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 10), true},
        {30, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(2, 6, 11), true}, /* another element */
        {40, DBR_PGN_PROCESS_DATA, 247, 128, VALUE(1, 7, 12), true}, /* another DDI */
        {50, DBR_PGN_PROCESS_DATA, 128, 247, {DBR_PROCESS_REQUEST_VALUE, 0, 7}, false},
        {60, 61444, ALL, 0, {0}, false}, /* takes no part */
        {1500, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 13), true},
        {3000, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 14), false},
        {4000, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 15), true},
        {5500, 61444, ALL, 0, {0}, true},
        {6500, DBR_PGN_PROCESS_DATA, 128, 247, VALUE(1, 6, 16), false},
    };
    static const struct dbr_number_range terminal = {38, 38};
    struct dbr_excerpt_wish wish = {.window_count = 2, .windows = windows, .values = true};

    EXPECT_KEPT(&wish, told);
    wish.address_count = 1;
    wish.addresses = &terminal;
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        told[i].wanted = false;
    EXPECT_KEPT(&wish, told);
}

/* Error frames have neither address nor group; others that are no message have no group. */
Test(excerpt, frames_that_are_no_messages)
{
    static const struct dbr_window window = {1000 * MS, 2000 * MS};
    static const struct dbr_number_range nine = {9, 9};
    static const struct {
        uint8_t flags;
        bool in_window, with_address;
    } rows[] = {{DBR_FRAME_ERROR, true, true},
                {0, true, false},
                {DBR_FRAME_EXTENDED | DBR_FRAME_FD, true, false},
                {DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE, true, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (int filtered = 0; filtered < 2; filtered++) {
            struct dbr_excerpt_wish wish = {.window_count = 1,
                                            .windows = &window,
                                            .address_count = (size_t)filtered,
                                            .addresses = &nine};
            struct dbr_error error;
            struct dbr_definitions *definitions = dbr_definitions_new(&error);
            struct dbr_excerpt *e = dbr_excerpt_new(definitions, &wish, &error);
            struct dbr_frame frame = {.at_ns = 1500 * MS, .id = 9, .flags = rows[i].flags};
            cr_assert_eq(dbr_excerpt_learned(e, 0, &error), 0);
            cr_expect_eq(dbr_excerpt_wants(e, &frame),
                         filtered ? rows[i].with_address : rows[i].in_window, "row %zu", i);
            frame.at_ns = 2001 * MS;
            cr_expect_not(dbr_excerpt_wants(e, &frame), "row %zu", i);
            dbr_excerpt_free(e);
            dbr_definitions_free(definitions);
        }
}

/* Without time stamps everything happens at one moment: the same kind of transfer counts once. */
Test(excerpt, thousands_of_transfers_at_one_moment)
{
    static const struct dbr_number_range inside = {65226, 65226};
    static const struct told parts[] = {
        {0, CONTROL, ALL, 3, BAM, true},
        {0, DATA, ALL, 3, PACKET(1), true},
        {0, DATA, ALL, 3, PACKET(2), true},
        {0, DATA, ALL, 4, PACKET(2), false},
    };
    struct dbr_excerpt_wish wish = {.pgn_count = 1, .pgns = &inside};
    const size_t rounds = 20000, count = sizeof parts / sizeof parts[0];
    struct told *told = calloc(rounds * count, sizeof *told);

    for (size_t i = 0; i < rounds * count; i++)
        told[i] = parts[i % count];
    expect_kept(&wish, told, rounds * count);
    free(told);
}
