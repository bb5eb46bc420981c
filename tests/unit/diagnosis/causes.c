/*
 * causes.c - what explains what, where more is asked than bus, address and time: which speed a
 * machine lives by, whom a transfer waited for, what a trouble code is about.
 */
#include <criterion/criterion.h>

#include "diagnosis/rules.h"
#include "support/pair.h"
#include "support/story.h"

/* SPN 4308: the source that the selected speed was taken from (ISO 11783-7). */
Test(diagnosis_causes, the_selected_speed_follows_what_it_selects)
{
    static const struct {
        uint8_t selection;
        enum dbr_speed_kind kind;
        int address;
        bool linked;
    } rows[] = {
        {0, DBR_SPEED_WHEEL, 140, true},       {0, DBR_SPEED_WHEEL, 141, false},
        {0, DBR_SPEED_GROUND, 140, false},     {1, DBR_SPEED_GROUND, 140, true},
        {1, DBR_SPEED_GROUND, 141, false},     {1, DBR_SPEED_WHEEL, 140, false},
        {2, DBR_SPEED_NAVIGATION, 28, true},   {2, DBR_SPEED_GNSS, 28, true},
        {2, DBR_SPEED_WHEEL, 140, false},      {3, DBR_SPEED_WHEEL, 140, false},
        {255, DBR_SPEED_WHEEL, 140, false},    {0, DBR_SPEED_SELECTED, 140, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "speed-stuck-zero", "speed-stuck-zero");
        pair_source(&p, 140, DBR_SPEED_WHEEL);
        pair_source(&p, 140, DBR_SPEED_SELECTED)->selection = rows[i].selection;
        p.effect.kind = DBR_SPEED_SELECTED;
        p.cause.kind = (int)rows[i].kind;
        p.cause.seen.address = rows[i].address;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "row %zu", i);
        p.effect.kind = DBR_SPEED_VEHICLE; /* selects nothing */
        cr_expect_not(pair_linked(&p), "row %zu", i);
    }
}

/* A selected speed of another bus or ECU says nothing about this one. */
Test(diagnosis_causes, whose_selection_it_is)
{
    for (int other = 0; other < 3; other++) {
        struct pair p;
        pair_begin(&p, "speed-frozen", "speed-frozen");
        struct dbr_speed_source *s = pair_source(&p, other == 1 ? 141 : 140, DBR_SPEED_SELECTED);
        s->selection = 0;
        s->interface = other == 2;
        p.effect.kind = DBR_SPEED_SELECTED;
        p.cause.kind = DBR_SPEED_WHEEL;
        cr_expect_eq(pair_linked(&p), other == 0, "%d", other);
    }
}

Test(diagnosis_causes, distance_and_speed_of_one_and_the_same_source)
{
    struct pair p;

    pair_begin(&p, "distance-disagrees", "speed-stuck-zero");
    p.effect.kind = p.cause.kind = DBR_SPEED_WHEEL;
    cr_expect(pair_linked(&p));
    p.cause.seen.pgn = 65097;
    cr_expect_not(pair_linked(&p), "another message");
    p.cause.seen.pgn = p.effect.seen.pgn;
    p.cause.kind = DBR_SPEED_GROUND;
    cr_expect_not(pair_linked(&p), "another source");
}

/* Rate missing: the implement lives by its own speed where it has one, else by any. */
Test(diagnosis_causes, which_speed_an_implement_lives_by)
{
    static const struct {
        const char *what;
        bool has_own;
        enum dbr_speed_kind kind;
        int address;
        bool linked;
    } rows[] = {
        {"its own", true, DBR_SPEED_IMPLEMENT, 140, true},
        {"that of another implement, though it has its own", true, DBR_SPEED_IMPLEMENT, 141, false},
        {"one of its ECU that is not the implement's", true, DBR_SPEED_WHEEL, 140, false},
        {"the tractor's, though it has its own", true, DBR_SPEED_WHEEL, 240, false},
        {"the tractor's, and it has none", false, DBR_SPEED_WHEEL, 240, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "rate-missing", "speed-lost");
        pair_source(&p, 140, DBR_SPEED_WHEEL);
        pair_source(&p, 141, DBR_SPEED_IMPLEMENT);
        pair_source(&p, 140, DBR_SPEED_IMPLEMENT)->interface = rows[i].has_own ? 0 : 1;
        p.cause.kind = (int)rows[i].kind;
        p.cause.seen.address = rows[i].address;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "%s", rows[i].what);
    }
}

/* What it went on without while that was dead is not why it stopped. */
Test(diagnosis_causes, a_speed_that_an_implement_did_without)
{
    static const struct {
        const char *what;
        uint64_t without; /* sources: 0 wheel of 240, 1 ground of 240, 2 wheel of 241 */
        uint8_t implement, interface;
        bool linked;
    } rows[] = {
        {"it needed all", 0, 140, 0, true},
        {"it did without this one", 1, 140, 0, false},
        {"without another kind", 2, 140, 0, true},
        {"without the same of another ECU", 4, 140, 0, true},
        {"another implement did", 1, 141, 0, true},
        {"one of another bus did", 1, 140, 1, true},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "rate-missing", "speed-lost");
        pair_source(&p, 240, DBR_SPEED_WHEEL);
        pair_source(&p, 240, DBR_SPEED_GROUND);
        pair_source(&p, 241, DBR_SPEED_WHEEL);
        p.history.implement_count = 1;
        p.implements[0].applied_without = rows[i].without;
        p.implements[0].address = rows[i].implement;
        p.implements[0].interface = rows[i].interface;
        p.cause.kind = DBR_SPEED_WHEEL;
        p.cause.seen.address = 240;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "%s", rows[i].what);
    }
}

/* One source by its bus and its message too. */
Test(diagnosis_causes, a_speed_of_another_message_or_bus_was_the_one_that_it_did_without)
{
    for (int other = 0; other < 3; other++) {
        struct pair p;
        pair_begin(&p, "rate-missing", "speed-lost");
        struct dbr_speed_source *s = pair_source(&p, 240, DBR_SPEED_GNSS);
        s->pgn = other == 1 ? 65256 : s->pgn;
        s->interface = other == 2;
        p.history.implement_count = 1;
        p.implements[0] = (struct dbr_implement){.address = 140, .applied_without = 1};
        p.cause.kind = DBR_SPEED_GNSS;
        p.cause.seen.address = 240;
        cr_expect_eq(pair_linked(&p), other != 0, "%d", other);
    }
}

/* The silence of an implement stops rates. Who never answered one was no implement. */
Test(diagnosis_causes, whose_silence_is_behind_rate_and_controller)
{
    static const struct {
        uint64_t name;
        bool rate, controller;
    } rows[] = {{NAME_SPREADER, true, false}, {NAME_TRACTOR, false, true}};

    for (size_t i = 0; i < 2; i++) {
        struct pair p;
        pair_begin(&p, "rate-missing", "ecu-silent");
        pair_ecu(&p, 0, 150, rows[i].name);
        p.implements[0] = (struct dbr_implement){.address = 140};
        p.history.implement_count = 1;
        p.cause.seen.address = 150;
        cr_expect_eq(pair_linked(&p), rows[i].rate, "row %zu", i);
        p.effect.seen.code = "controller-lost";
        cr_expect_eq(pair_linked(&p), rows[i].controller, "row %zu", i);
    }
}

/* "No controller answers" is about the implement: what happens to that one is not about a
 * controller. */
Test(diagnosis_causes, what_is_about_the_controller_and_what_about_its_implement)
{
    for (int seen = 0; seen < 2; seen++) {
        struct pair p;
        pair_begin(&p, "controller-lost", "address-conflict");
        p.implements[0] = (struct dbr_implement){
            .address = 140, .controller_seen = seen, .controller = 247};
        p.history.implement_count = 1;
        p.effect.seen.address = p.cause.seen.address = seen ? 247 : 140;
        cr_expect_eq(pair_linked(&p), seen, "%d", seen);
        p.effect.seen.code = "ecu-restart";
        p.cause.seen.code = "controller-lost";
        cr_expect_eq(pair_linked(&p), seen, "%d", seen);
    }
}

/* What an implement misses without its controller, and without the controller of another one. */
Test(diagnosis_causes, whose_controller_is_lost)
{
    static const char *const effects[] = {"rate-missing", "coverage-missing", "speed-lost"};

    for (size_t i = 0; i < 3; i++)
        for (int controller = 247; controller < 249; controller++) {
            struct pair p;
            pair_begin(&p, effects[i], "controller-lost");
            p.implements[0] = (struct dbr_implement){
                .address = 140, .controller_seen = true, .controller = 247};
            p.history.implement_count = 1;
            p.effect.kind = DBR_SPEED_IMPLEMENT;
            p.cause.seen.address = controller;
            cr_expect_eq(pair_linked(&p), controller == 247, "%s %d", effects[i], controller);
        }
}

/* Only what a controller asks for stops with it. */
Test(diagnosis_causes, a_speed_on_the_bus_needs_no_controller)
{
    struct pair p;

    pair_begin(&p, "speed-lost", "controller-lost");
    p.effect.kind = DBR_SPEED_GNSS;
    cr_expect_not(pair_linked(&p));
}

/* A failed transfer is about its originator, with the receiver beside it. */
Test(diagnosis_causes, whom_a_transfer_waited_for)
{
    static const struct {
        const char *cause;
        int address; /* of the cause; 140 sends to 141 */
        bool waited, linked;
    } rows[] = {
        {"ecu-silent", 141, true, true},         {"ecu-silent", 140, true, true},
        {"ecu-silent", 142, true, false},        {"ecu-silent", 141, false, false},
        {"ecu-restart", 141, false, false},      {"bus-off-suspected", 141, false, false},
        {"address-conflict", 141, false, true},  {"address-conflict", 142, false, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "transfer-failed", rows[i].cause);
        p.effect.seen.addresses[p.effect.seen.address_count++] = 141;
        p.effect.waited_in_vain = rows[i].waited;
        p.cause.seen.address = rows[i].address;
        cr_expect_eq(pair_linked(&p), rows[i].linked, "row %zu", i);
    }
}

Test(diagnosis_causes, a_receiver_in_a_dead_section_cannot_answer)
{
    for (unsigned other = 0; other < 3; other++) {
        struct pair p;
        pair_begin(&p, "transfer-failed", "harness-section-silent");
        p.effect.seen.addresses[p.effect.seen.address_count++] = other == 1 ? 142 : 141;
        p.effect.waited_in_vain = other != 2; /* 2: it was refused, so somebody was there */
        p.cause.seen.address = -1;
        p.cause.seen.address_count = 2;
        p.cause.seen.addresses[0] = 160;
        p.cause.seen.addresses[1] = 141;
        cr_expect_eq(pair_linked(&p), other == 0, "%u", other);
    }
}

/* Requests of made-up addresses: three and more of them, and most of those that owe a claim. */
Test(diagnosis_causes, addresses_that_somebody_made_up)
{
    static const struct {
        size_t refused;      /* 150, 151, ... */
        size_t unclaimed;    /* 150, 151, ...; 0: 150 alone */
        bool linked;
    } rows[] = {{3, 0, true}, {2, 0, false}, {3, 4, true}, {3, 6, false}, {3, 7, false}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pair p;
        pair_begin(&p, "address-unclaimed", "transfer-failed");
        p.effect.seen.address = rows[i].unclaimed > 0 ? -1 : 150;
        for (size_t k = 0; k < rows[i].refused; k++)
            found_address(&p.cause, (uint8_t)(150 + k));
        for (size_t k = 0; k < rows[i].unclaimed; k++)
            found_address(&p.effect, (uint8_t)(150 + k));
        cr_expect_eq(pair_linked(&p), rows[i].linked, "row %zu", i);
    }
}

/* It said that it has none before it was contested: then about the time it did. */
Test(diagnosis_causes, who_had_the_address_that_was_lost)
{
    struct pair p;

    pair_begin(&p, "address-cannot-claim", "address-conflict");
    pair_time(&p.cause, 1, 2);
    cr_expect_not(pair_linked(&p), "long after, and nobody knows which address it had");
    found_address(&p.effect, 131);
    cr_expect_not(pair_linked(&p), "it had another one");
    found_address(&p.effect, 140);
    cr_expect(pair_linked(&p), "it had this one");
}

Test(diagnosis_causes, whom_an_order_to_be_silent_is_for)
{
    struct pair p;

    pair_begin(&p, "ecu-silent", "broadcast-stopped");
    p.cause.seen.address = 240;
    cr_expect(pair_linked(&p), "all");
    found_address(&p.cause, 141);
    cr_expect_not(pair_linked(&p), "another one");
    pair_begin(&p, "ecu-silent", "broadcast-stopped");
    cr_expect_not(pair_linked(&p), "who asks is not asked");
}

/* More causes than are kept: the first ones stay. */
Test(diagnosis_causes, so_many_causes_and_no_more)
{
    static struct found causes[CAUSES_MAX + 4];
    struct pair p;
    size_t count = sizeof causes / sizeof causes[0];

    pair_begin(&p, "rate-missing", "ecu-missing");
    p.findings.items[p.findings.count++] = &p.effect;
    for (size_t i = 0; i < count; i++) {
        causes[i] = p.cause;
        p.findings.items[p.findings.count++] = &causes[i];
    }
    findings_link(&p.findings);
    cr_assert_eq(p.effect.cause_count, CAUSES_MAX);
    cr_expect_eq(p.effect.causes[CAUSES_MAX - 1], &causes[CAUSES_MAX - 1]);
}
