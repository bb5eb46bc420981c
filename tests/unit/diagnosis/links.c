/*
 * links.c - the table of what explains what (causes.c): that it is sound, and what each of its
 * rows asks for, one thing at a time: bus, address, time, order, how long.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "diagnosis/causes.h"
#include "diagnosis/rules.h"
#include "support/pair.h"
#include "support/story.h"

static bool is_known(const char *pattern)
{
    for (size_t i = 0; i < rule_count; i++)
        if (link_means(pattern, rules[i].code))
            return true;
    return false;
}

Test(diagnosis_links, every_row_names_codes_that_exist)
{
    for (size_t i = 0; i < link_count; i++) {
        cr_expect(is_known(links[i].effect), "%s", links[i].effect);
        cr_expect(is_known(links[i].cause), "%s", links[i].cause);
    }
}

static bool overlap(const char *a, const char *b)
{
    for (size_t i = 0; i < rule_count; i++)
        if (link_means(a, rules[i].code) && link_means(b, rules[i].code))
            return true;
    return false;
}

/* A cause is named once, since no two rows can join one pair. Those that share codes: what a code
 * says of the messages of an ECU, and of a speed, are different numbers; and a selected speed is
 * another source than the one that it selects. */
Test(diagnosis_links, no_two_rows_say_the_same)
{
    for (size_t i = 0; i < link_count; i++)
        for (size_t k = 0; k < i; k++) {
            bool apart = (links[k].holds == misses && links[i].holds == says_it_again) ||
                         (links[k].holds == selects && links[i].holds == same_source);
            bool shared = overlap(links[i].effect, links[k].effect) &&
                          overlap(links[i].cause, links[k].cause);
            cr_expect(!shared || apart, "%s, %s", links[i].effect, links[i].cause);
        }
}

/*
 * Marks all that may be behind a code. Two conditions end a chain by themselves: a selected speed
 * is no cause of one, and behind an electrical code about a sensor stands no speed.
 */
static void mark_behind(const char *code, bool *behind)
{
    for (size_t l = 0; l < link_count; l++)
        for (size_t i = 0; i < rule_count; i++)
            if (links[l].holds != selects && links[l].holds != sender_says_why && !behind[i] &&
                link_means(links[l].effect, code) && link_means(links[l].cause, rules[i].code)) {
                behind[i] = true;
                mark_behind(rules[i].code, behind);
            }
}

/* Else there would be findings without a root. */
Test(diagnosis_links, nothing_is_behind_itself)
{
    for (size_t i = 0; i < rule_count; i++) {
        bool behind[64] = {false};
        cr_assert_leq(rule_count, 64);
        mark_behind(rules[i].code, behind);
        cr_expect_not(behind[i], "%s", rules[i].code);
    }
}

/* What breaks a link: another bus, another address of the effect, a cause that began after its
 * effect, an effect that outlasts its cause. */
enum breaks { BUS = 1, ADDRESS = 2, ORDER = 4, OUTLASTS = 8 };

static void section(struct pair *p)
{
    p->cause.seen.address = -1;
    p->cause.seen.address_count = 2;
    p->cause.seen.addresses[0] = 140;
    p->cause.seen.addresses[1] = 141;
}

static void section_in_vain(struct pair *p)
{
    section(p);
    p->effect.waited_in_vain = true;
}

static void in_vain(struct pair *p)
{
    p->effect.waited_in_vain = true;
}

static void order_for_it(struct pair *p)
{
    p->cause.seen.address = 240;
    p->cause.seen.address_count = 1;
    p->cause.seen.addresses[0] = 140;
}

static void refused_many(struct pair *p)
{
    section(p);
    p->cause.seen.addresses[p->cause.seen.address_count++] = 142;
}

/* One burst, as long as the finding. */
static void burst(struct pair *p)
{
    p->history.bus_count = 1;
    p->buses[0].bursts.count = 1;
    p->buses[0].bursts.items[0] =
        (struct dbr_spell){.start_ns = 20000000000, .end_ns = 30000000000};
}

static void selected_wheel(struct pair *p)
{
    pair_source(p, 140, DBR_SPEED_SELECTED)->selection = 0;
    p->effect.kind = DBR_SPEED_SELECTED;
    p->cause.kind = DBR_SPEED_WHEEL;
}

static void one_source(struct pair *p)
{
    p->effect.kind = p->cause.kind = DBR_SPEED_WHEEL;
}

/* Gone from 20 s to 30 s: its ECU starts anew as it goes. */
static void started(struct pair *p)
{
    struct dbr_speed_source *s = pair_source(p, 140, DBR_SPEED_WHEEL);

    pair_ecu(p, 0, 140, NAME_TRACTOR);
    pair_restart(p, 20);
    p->effect.kind = DBR_SPEED_WHEEL;
    s->lost.count = s->not_available.count = 1;
    s->lost.items[0] = s->not_available.items[0] =
        (struct dbr_spell){.start_ns = 20000000000, .end_ns = 30000000000};
}

static void own_speed(struct pair *p)
{
    p->effect.kind = DBR_SPEED_IMPLEMENT;
}

/* Both are about 140: the controller of an implement at 141. */
static void controller(struct pair *p)
{
    p->implements[0] =
        (struct dbr_implement){.address = 141, .controller_seen = true, .controller = 140};
    p->history.implement_count = 1;
}

/* SPN 1862 is a speed by a wheel; FMI 5 is an open circuit, FMI 2 is data that are erratic. */
static void wheel_code(struct pair *p)
{
    pair_code(p, &p->cause, 1862, 5);
    p->effect.kind = DBR_SPEED_WHEEL;
}

static void wheel_code_again(struct pair *p)
{
    pair_code(p, &p->effect, 1862, 2);
    p->cause.kind = DBR_SPEED_WHEEL;
}

/* SPN 2000 + address stands for the messages of an ECU (SAE J1939-71 SPN 2000..2255). */
static void misses_it(struct pair *p)
{
    pair_code(p, &p->effect, 2140, 9);
}

static void supply_code(struct pair *p)
{
    pair_code(p, &p->effect, 168, 18);
}

static const struct {
    const char *effect, *cause;
    unsigned breaks;
    void (*prepare)(struct pair *p);
} rows[] = {
    {"bus-error-warning", "bus-off", BUS, NULL},
    {"bus-error-passive", "bus-off", BUS, NULL},
    {"bus-error-burst", "bus-off", BUS, NULL},
    {"bus-error-warning", "bus-error-passive", BUS, NULL},
    {"bus-error-passive", "bus-no-acknowledge", BUS, NULL},
    {"bus-error-warning", "bus-error-burst", BUS, NULL},
    {"bus-error-passive", "bus-error-burst", BUS, NULL},
    {"recording-gap", "bus-off", 0, NULL},
    {"message-gaps", "bus-off", BUS, NULL},
    {"ecu-silent", "bus-off", BUS | ORDER | OUTLASTS, NULL},
    {"harness-section-silent", "bus-off", BUS | ORDER | OUTLASTS, NULL},
    {"controller-lost", "bus-off", BUS | ORDER | OUTLASTS, NULL},
    {"speed-lost", "bus-off", BUS | ORDER | OUTLASTS, NULL},
    {"message-gaps", "bus-error-burst", BUS, NULL},
    {"message-gaps", "bus-load-high", BUS, NULL},
    {"ecu-silent", "broadcast-stopped", BUS | ADDRESS | ORDER | OUTLASTS, order_for_it},
    {"speed-lost", "broadcast-stopped", BUS | ADDRESS | ORDER | OUTLASTS, order_for_it},
    {"controller-lost", "broadcast-stopped", BUS | ORDER | OUTLASTS, NULL},
    {"recording-gap", "broadcast-stopped", 0, NULL},
    {"message-gaps", "broadcast-stopped", BUS, NULL},
    {"address-cannot-claim", "address-conflict", BUS | ORDER, NULL},
    {"address-shared", "address-conflict", BUS | ADDRESS, NULL},
    {"ecu-silent", "address-conflict", BUS | ADDRESS | ORDER, NULL},
    {"ecu-restart", "address-conflict", BUS | ADDRESS, NULL},
    {"speed-stuck-zero", "address-conflict", BUS | ADDRESS | ORDER, NULL},
    {"message-gaps", "address-conflict", BUS | ADDRESS, NULL},
    {"ecu-silent", "harness-section-silent", BUS | ADDRESS, section},
    {"bus-off-suspected", "harness-section-silent", BUS | ADDRESS, section},
    {"ecu-silent", "bus-off-suspected", BUS | ADDRESS, NULL},
    {"bus-error-burst", "bus-off-suspected", BUS, burst},
    {"ecu-silent", "supply-low", BUS, NULL},
    {"harness-section-silent", "supply-low", BUS, NULL},
    {"ecu-restart", "supply-low", BUS, NULL},
    {"ecu-restart", "ecu-silent", BUS | ADDRESS, NULL},
    {"message-gaps", "ecu-silent", BUS | ADDRESS, NULL},
    {"speed-lost", "ecu-silent", BUS | ADDRESS, NULL},
    {"speed-lost", "ecu-restart", BUS | ADDRESS, started},
    {"speed-not-available", "ecu-restart", BUS | ADDRESS, started},
    {"speed-not-available", "supply-low", BUS, NULL},
    {"transfer-failed", "bus-off", BUS, NULL},
    {"transfer-failed", "bus-error-burst", BUS, NULL},
    {"transfer-failed", "address-conflict", BUS | ADDRESS, NULL},
    {"transfer-failed", "harness-section-silent", BUS | ADDRESS, section_in_vain},
    {"transfer-failed", "bus-off-suspected", BUS | ADDRESS, in_vain},
    {"transfer-failed", "ecu-silent", BUS | ADDRESS, in_vain},
    {"transfer-failed", "ecu-restart", BUS | ADDRESS, in_vain},
    {"address-unclaimed", "transfer-failed", BUS | ADDRESS | ORDER, refused_many},
    {"speed-disagrees", "speed-stuck-zero", BUS | ADDRESS, selected_wheel},
    {"direction-disagrees", "direction-disagrees", BUS | ADDRESS, selected_wheel},
    {"speed-erratic", "speed-stuck-zero", BUS | ADDRESS, one_source},
    {"distance-disagrees", "speed-stuck-zero", BUS | ADDRESS, one_source},
    {"message-gaps", "speed-lost", BUS | ADDRESS, NULL},
    {"speed-error", "fault-code-active", BUS | ADDRESS, wheel_code},
    {"fault-code-active", "ecu-missing", BUS, misses_it},
    {"fault-code-active", "ecu-silent", BUS, misses_it},
    {"fault-code-active", "harness-section-silent", BUS, misses_it},
    {"fault-code-active", "bus-off-suspected", BUS, misses_it},
    {"fault-code-active", "address-conflict", BUS, misses_it},
    {"fault-code-active", "ecu-restart", BUS, misses_it},
    {"fault-code-active", "speed-lost", BUS, misses_it},
    {"fault-code-active", "supply-low", BUS, supply_code},
    {"fault-code-active", "speed-frozen", BUS | ADDRESS | ORDER, wheel_code_again},
    {"speed-missing", "ecu-missing", 0, NULL},
    {"controller-lost", "ecu-missing", 0, NULL},
    {"rate-missing", "ecu-missing", 0, NULL},
    {"rate-missing", "speed-erratic", BUS | ORDER, NULL},
    {"rate-missing", "controller-lost", BUS | ADDRESS, NULL},
    {"rate-missing", "description-refused", BUS | ADDRESS, NULL},
    {"rate-missing", "ecu-silent", BUS | ADDRESS | ORDER, NULL},
    {"rate-missing", "harness-section-silent", BUS | ORDER, NULL},
    {"rate-missing", "address-conflict", BUS | ADDRESS, NULL},
    {"coverage-missing", "rate-missing", BUS | ADDRESS, NULL},
    {"coverage-missing", "speed-error", BUS | ORDER, NULL},
    {"coverage-missing", "controller-lost", BUS | ADDRESS, NULL},
    {"coverage-missing", "description-refused", BUS | ADDRESS, NULL},
    {"coverage-missing", "ecu-silent", BUS | ADDRESS | ORDER, NULL},
    {"coverage-missing", "harness-section-silent", BUS | ORDER, NULL},
    {"coverage-missing", "address-conflict", BUS | ADDRESS, NULL},
    {"controller-lost", "ecu-silent", BUS | ADDRESS | ORDER, controller},
    {"controller-lost", "address-conflict", BUS | ADDRESS | ORDER, controller},
    {"ecu-restart", "controller-lost", BUS | ADDRESS | ORDER, controller},
    {"speed-lost", "controller-lost", BUS | ADDRESS | ORDER, own_speed},
    {"controller-lost", "harness-section-silent", BUS | ORDER, NULL},
};

#define ROWS (sizeof rows / sizeof rows[0])

static void begin(struct pair *p, size_t row)
{
    pair_begin(p, rows[row].effect, rows[row].cause);
    if (rows[row].prepare)
        rows[row].prepare(p);
}

#define WHERE "%s because of %s", rows[i].effect, rows[i].cause

Test(diagnosis_links, each_row_of_the_table_is_tried_here)
{
    cr_assert_eq(ROWS, link_count);
    for (size_t i = 0; i < ROWS; i++) {
        cr_expect(link_means(links[i].effect, rows[i].effect), WHERE);
        cr_expect(link_means(links[i].cause, rows[i].cause), WHERE);
    }
}

Test(diagnosis_links, together_and_at_one_time_the_one_explains_the_other)
{
    for (size_t i = 0; i < ROWS; i++) {
        struct pair p;
        begin(&p, i);
        cr_expect(pair_linked(&p), WHERE);
        pair_time(&p.cause, 1, 2); /* the end of what lasts does not count */
        p.cause.seen.open = true;
        cr_expect(pair_linked(&p), WHERE);
    }
}

Test(diagnosis_links, on_another_bus_or_of_another_ecu)
{
    for (size_t i = 0; i < ROWS; i++) {
        struct pair p;
        begin(&p, i);
        p.cause.seen.interface = 1;
        cr_expect_eq(pair_linked(&p), !(rows[i].breaks & BUS), WHERE);
        begin(&p, i);
        p.effect.seen.address = 150;
        cr_expect_eq(pair_linked(&p), !(rows[i].breaks & ADDRESS), WHERE);
    }
}

Test(diagnosis_links, a_cause_that_began_after_it_and_one_that_ended_before_it)
{
    for (size_t i = 0; i < ROWS; i++) {
        struct pair p;
        begin(&p, i);
        pair_time(&p.effect, 10, 30);
        cr_expect_eq(pair_linked(&p), !(rows[i].breaks & ORDER), WHERE);
        begin(&p, i);
        pair_time(&p.effect, 20, 40);
        cr_expect_eq(pair_linked(&p), !(rows[i].breaks & OUTLASTS), WHERE);
        p.effect.seen.open = true;
        cr_expect_eq(pair_linked(&p), !(rows[i].breaks & OUTLASTS), WHERE);
    }
}

/* More than 5 s apart, either way; and where times are not known. */
Test(diagnosis_links, apart_in_time_nothing_explains_anything)
{
    for (size_t i = 0; i < ROWS; i++) {
        struct pair p;
        begin(&p, i);
        pair_time(&p.cause, 4, 14.9);
        cr_expect_not(pair_linked(&p), WHERE);
        pair_time(&p.cause, 35.1, 50);
        cr_expect_not(pair_linked(&p), WHERE);
        begin(&p, i);
        p.cause.seen.timed = false;
        cr_expect_not(pair_linked(&p), WHERE);
        begin(&p, i);
        p.effect.seen.timed = false;
        cr_expect_not(pair_linked(&p), WHERE);
    }
}

Test(diagnosis_links, a_note_explains_nothing)
{
    for (size_t i = 0; i < ROWS; i++) {
        struct pair p;
        begin(&p, i);
        p.cause.seen.severity = DBR_NOTE;
        cr_expect_not(pair_linked(&p), WHERE);
    }
}
