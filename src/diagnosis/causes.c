/*
 * causes.c - which finding explains which, as far as the link is plain.
 *
 * One table: the finding of this code is because of the finding of that code,
 * where a condition on the two holds. A finding may have several causes; links
 * go one way along the order of the table's causes, so that no circle arises.
 */
#include <stdlib.h>
#include <string.h>

#include "diagnosis/causes_addresses.h"
#include "diagnosis/causes_codes.h"
#include "diagnosis/causes_work.h"
#include "diagnosis/rules.h"

#define NEAR_NS INT64_C(5000000000) /* what follows from another does so within seconds */

typedef bool condition(const struct findings *f, const struct found *effect,
                       const struct found *cause);

static bool same_bus(const struct found *a, const struct found *b)
{
    return a->seen.interface == b->seen.interface;
}

static bool same_address(const struct found *a, const struct found *b)
{
    return same_bus(a, b) && a->seen.address == b->seen.address;
}

/* An interval; an effect may begin before its cause is noticed, by the interval of a message. */
static bool overlap(const struct found *a, const struct found *b)
{
    int64_t a_end = a->seen.open ? INT64_MAX - NEAR_NS : a->seen.end_ns;
    int64_t b_end = b->seen.open ? INT64_MAX - NEAR_NS : b->seen.end_ns;

    return a->seen.timed && b->seen.timed && a->seen.start_ns <= b_end + NEAR_NS &&
           b->seen.start_ns <= a_end + NEAR_NS;
}

static bool starts_after(const struct found *effect, const struct found *cause)
{
    return effect->seen.timed && cause->seen.timed &&
           effect->seen.start_ns >= cause->seen.start_ns - NEAR_NS;
}

static bool same_ecu(const struct findings *f, const struct found *effect,
                     const struct found *cause)
{
    (void)f;
    return same_address(effect, cause) && overlap(effect, cause);
}

static bool on_same_bus(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause);
}

/* The recording's own gaps belong to no bus. */
static bool at_same_time(const struct findings *f, const struct found *effect,
                         const struct found *cause)
{
    (void)f;
    return overlap(effect, cause);
}

static bool member_of(const struct found *of, int address)
{
    for (size_t i = 0; i < of->seen.address_count; i++)
        if (of->seen.addresses[i] == address)
            return true;
    return false;
}

static bool in_section(const struct findings *f, const struct found *effect,
                       const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && member_of(cause, effect->seen.address) &&
           overlap(effect, cause);
}

/* Who lost an address is silent under it from then on. */
static bool lost_address(const struct findings *f, const struct found *effect,
                         const struct found *cause)
{
    (void)f;
    return same_address(effect, cause) && starts_after(effect, cause) && overlap(effect, cause);
}

/* Cannot-claim by the one that had the contested address. */
static bool lost_contest(const struct findings *f, const struct found *effect,
                         const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && starts_after(effect, cause) &&
           (member_of(effect, cause->seen.address) || overlap(effect, cause));
}

/* The selected speed follows the source that it selects (SPN 4308). */
static bool selects(const struct findings *f, const struct found *effect,
                    const struct found *cause)
{
    static const enum dbr_speed_kind kinds[] = {DBR_SPEED_WHEEL, DBR_SPEED_GROUND,
                                                DBR_SPEED_NAVIGATION};

    if (effect->kind != DBR_SPEED_SELECTED || cause->kind == DBR_SPEED_SELECTED ||
        cause->kind < 0 || !overlap(effect, cause))
        return false;
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *s = &f->history->sources[i];
        if (s->kind != DBR_SPEED_SELECTED || s->interface != effect->seen.interface ||
            s->address != effect->seen.address || s->selection >= 3)
            continue;
        if (kinds[s->selection] == DBR_SPEED_NAVIGATION)
            return cause->kind == DBR_SPEED_NAVIGATION || cause->kind == DBR_SPEED_GNSS;
        return (int)kinds[s->selection] == cause->kind && same_address(effect, cause);
    }
    return false;
}

/* Two findings about one and the same speed source. */
static bool same_source(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    (void)f;
    return effect->kind == cause->kind && effect->seen.pgn == cause->seen.pgn &&
           same_address(effect, cause) && overlap(effect, cause);
}

/* What follows has gone on for a while when it is found: the cause began before it, or with it. */
static bool chain_cause(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause) && starts_after(effect, cause);
}

/* An implement without rate: the speed that it lives by. */
static bool speed_of_implement(const struct findings *f, const struct found *effect,
                               const struct found *cause)
{
    return chain_cause(f, effect, cause) && lives_by_speed(f, effect, cause);
}

/* The status stopped because its sender did; a controller speaks no process data of its own. */
static bool controller_silent(const struct findings *f, const struct found *effect,
                              const struct found *cause)
{
    const struct dbr_ecu *ecu = cause->seen.address < 0
                                    ? NULL
                                    : dbr_history_ecu(f->history, (uint8_t)cause->seen.interface,
                                                      (uint8_t)cause->seen.address);
    return chain_cause(f, effect, cause) && ecu && !dbr_ecu_is_implement(ecu);
}

/* Process data are sent because a controller asked for them, and stop without it (ISO 11783-10). */
static bool asked_for(const struct findings *f, const struct found *effect,
                      const struct found *cause)
{
    return effect->kind == DBR_SPEED_IMPLEMENT && same_address(effect, cause) &&
           chain_cause(f, effect, cause);
}

/* Who was not heard because the recorder was off the bus all the while, or struggled to stay. */
static bool unheard(const struct findings *f, const struct found *effect,
                    const struct found *cause)
{
    int64_t deaf_until = cause->seen.open ? f->history->end_ns : cause->seen.end_ns;
    int64_t until = effect->seen.open ? f->history->end_ns : effect->seen.end_ns;

    return chain_cause(f, effect, cause) && until <= deaf_until + NEAR_NS;
}

/* A silent ECU behind a missing rate: the implement itself, or another of the implement's. */
static bool silent_implement(const struct findings *f, const struct found *effect,
                             const struct found *cause)
{
    if (!chain_cause(f, effect, cause) || cause->seen.address < 0)
        return false;
    const struct dbr_ecu *ecu = dbr_history_ecu(f->history, (uint8_t)cause->seen.interface,
                                                (uint8_t)cause->seen.address);
    return same_address(effect, cause) || (ecu && dbr_ecu_is_implement(ecu));
}

/* Whether a finding is about one of the two between whom a transfer failed. */
static bool one_of_both(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause) &&
           (same_address(effect, cause) || member_of(effect, cause->seen.address));
}

/* Who was not there could not answer. */
static bool did_not_answer(const struct findings *f, const struct found *effect,
                           const struct found *cause)
{
    return effect->waited_in_vain && one_of_both(f, effect, cause);
}

static bool section_did_not_answer(const struct findings *f, const struct found *effect,
                                   const struct found *cause)
{
    bool concerns = in_section(f, effect, cause);

    for (size_t i = 0; i < effect->seen.address_count && !concerns; i++)
        concerns = same_bus(effect, cause) && overlap(effect, cause) &&
                   member_of(cause, effect->seen.addresses[i]);
    return effect->waited_in_vain && concerns;
}

static bool made_up(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return chain_cause(f, effect, cause) && refused_most(cause, effect);
}

/* A code about the messages of an ECU that failed. */
static bool misses(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return (cause->seen.interface < 0 || same_bus(effect, cause)) && overlap(effect, cause) &&
           code_misses(effect, cause);
}

static bool supply_says(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    return on_same_bus(f, effect, cause) && code_says_supply_low(effect);
}

/* The speed is what the machine lacks; an electrical code is the sender's own word about why. */
static bool sender_says_why(const struct findings *f, const struct found *effect,
                            const struct found *cause)
{
    return on_same_bus(f, effect, cause) && code_tells_why(cause, effect);
}

static bool says_it_again(const struct findings *f, const struct found *effect,
                          const struct found *cause)
{
    return chain_cause(f, effect, cause) && code_repeats(effect, cause);
}

/* Silent from an order to stop broadcasting on, and no longer than it held. */
static bool ordered(const struct findings *f, const struct found *effect,
                    const struct found *cause)
{
    return unheard(f, effect, cause) && order_is_for(cause, effect);
}

static const struct {
    const char *effect, *cause; /* a cause that ends with '*' means all codes that begin so */
    condition *holds;
} links[] = {
    /* the recorder's controller on its way off the bus, and what it missed while off */
    {"bus-error-warning", "bus-off", on_same_bus},
    {"bus-error-passive", "bus-off", on_same_bus},
    {"bus-error-burst", "bus-off", on_same_bus},
    {"bus-error-warning", "bus-error-passive", on_same_bus},
    {"bus-error-passive", "bus-no-acknowledge", on_same_bus},
    /* each error raises a counter (ISO 11898-1) */
    {"bus-error-warning", "bus-error-burst", on_same_bus},
    {"bus-error-passive", "bus-error-burst", on_same_bus},
    {"recording-gap", "bus-off", at_same_time},
    {"message-gaps", "bus-off", on_same_bus},
    {"ecu-silent", "bus-off", unheard},
    {"harness-section-silent", "bus-off", unheard},
    {"controller-lost", "bus-off", unheard},
    {"speed-lost", "bus-off", unheard},
    {"message-gaps", "bus-error-burst", on_same_bus},
    {"message-gaps", "bus-load-high", on_same_bus},

    {"ecu-silent", "broadcast-stopped", ordered},
    {"speed-lost", "broadcast-stopped", ordered},
    {"controller-lost", "broadcast-stopped", unheard},
    {"recording-gap", "broadcast-stopped", at_same_time},
    {"message-gaps", "broadcast-stopped", on_same_bus},

    {"address-cannot-claim", "address-conflict", lost_contest},
    {"address-shared", "address-conflict", same_ecu},
    {"ecu-silent", "address-conflict", lost_address},
    {"ecu-restart", "address-conflict", same_ecu},
    {"speed-*", "address-conflict", lost_address},
    {"message-gaps", "address-conflict", same_ecu},

    {"ecu-silent", "harness-section-silent", in_section},
    {"bus-off-suspected", "harness-section-silent", in_section},
    {"ecu-silent", "bus-off-suspected", same_ecu},
    {"ecu-silent", "supply-low", on_same_bus},
    {"harness-section-silent", "supply-low", on_same_bus},
    {"ecu-restart", "supply-low", on_same_bus},
    {"ecu-restart", "ecu-silent", same_ecu},
    {"message-gaps", "ecu-silent", same_ecu},
    {"speed-lost", "ecu-silent", same_ecu},
    {"speed-not-available", "supply-low", on_same_bus},

    /* who fell silent, started anew or shares an address does not finish its transfers */
    {"transfer-failed", "bus-off", on_same_bus},
    {"transfer-failed", "bus-error-burst", on_same_bus},
    {"transfer-failed", "address-conflict", one_of_both},
    {"transfer-failed", "harness-section-silent", section_did_not_answer},
    {"transfer-failed", "bus-off-suspected", did_not_answer},
    {"transfer-failed", "ecu-silent", did_not_answer},
    {"transfer-failed", "ecu-restart", did_not_answer},

    {"address-unclaimed", "transfer-failed", made_up},

    {"speed-*", "speed-*", selects},
    {"direction-disagrees", "direction-disagrees", selects},
    {"distance-disagrees", "speed-*", same_source},
    {"message-gaps", "speed-lost", same_ecu},

    /* what ECUs say: of each other, of their supply, of the speed that they send or miss */
    {"speed-*", "fault-code-active", sender_says_why},
    {"fault-code-active", "ecu-missing", misses},
    {"fault-code-active", "ecu-silent", misses},
    {"fault-code-active", "harness-section-silent", misses},
    {"fault-code-active", "bus-off-suspected", misses},
    {"fault-code-active", "address-conflict", misses},
    {"fault-code-active", "ecu-restart", misses},
    {"fault-code-active", "speed-lost", misses},
    {"fault-code-active", "supply-low", supply_says},
    {"fault-code-active", "speed-*", says_it_again},

    /* the chain: what stands still because something before it does */
    {"speed-missing", "ecu-missing", at_same_time},
    {"controller-lost", "ecu-missing", at_same_time},
    {"rate-missing", "ecu-missing", at_same_time},
    {"rate-missing", "speed-*", speed_of_implement},
    {"rate-missing", "controller-lost", same_ecu},
    {"rate-missing", "description-refused", same_ecu},
    {"rate-missing", "ecu-silent", silent_implement},
    {"rate-missing", "harness-section-silent", chain_cause},
    {"rate-missing", "address-conflict", same_ecu},
    {"coverage-missing", "rate-missing", same_ecu},
    {"coverage-missing", "speed-*", speed_of_implement},
    {"coverage-missing", "controller-lost", same_ecu},
    {"coverage-missing", "description-refused", same_ecu},
    {"controller-lost", "ecu-silent", controller_silent},
    {"speed-lost", "controller-lost", asked_for},
    {"controller-lost", "harness-section-silent", chain_cause},
};

static bool matches(const char *code, const char *pattern)
{
    size_t length = strlen(pattern);

    if (length > 0 && pattern[length - 1] == '*')
        return strncmp(code, pattern, length - 1) == 0;
    return strcmp(code, pattern) == 0;
}

/* Whether `found` is among the causes of `of`, or of their causes: a circle would close. */
static bool is_behind(const struct found *of, const struct found *found, unsigned depth)
{
    if (depth == 0)
        return true;
    for (size_t i = 0; i < of->cause_count; i++)
        if (of->causes[i] == found || is_behind(of->causes[i], found, depth - 1))
            return true;
    return false;
}

#define CHAIN_MAX 16u /* links of a chain; longer ones are refused as circles */

static void link(struct found *effect, struct found *cause)
{
    if (effect->cause_count == CAUSES_MAX || effect == cause ||
        is_behind(cause, effect, CHAIN_MAX))
        return;
    for (size_t i = 0; i < effect->cause_count; i++)
        if (effect->causes[i] == cause)
            return;
    effect->causes[effect->cause_count++] = cause;
}

/* A note is no cause: it is nothing that went wrong. */
static bool can_cause(const struct found *found)
{
    return found->seen.severity > DBR_NOTE;
}

void findings_link(struct findings *f)
{
    for (size_t l = 0; l < sizeof links / sizeof links[0]; l++)
        for (size_t i = 0; i < f->count; i++) {
            if (!matches(f->items[i]->seen.code, links[l].effect))
                continue;
            for (size_t j = 0; j < f->count; j++)
                if (matches(f->items[j]->seen.code, links[l].cause) && can_cause(f->items[j]) &&
                    links[l].holds(f, f->items[i], f->items[j]))
                    link(f->items[i], f->items[j]);
        }
}
