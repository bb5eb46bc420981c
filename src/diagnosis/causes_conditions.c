/* causes_conditions.c - see causes_conditions.h. */
#include "diagnosis/causes_conditions.h"

#include <string.h>

#include "diagnosis/causes_addresses.h"
#include "diagnosis/causes_codes.h"
#include "diagnosis/causes_work.h"

#define NEAR_NS INT64_C(5000000000) /* what follows from another does so within seconds */
#define LEAVING_NS INT64_C(1000000000) /* contract, bus-off-suspected */

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
    return effect->seen.start_ns >= cause->seen.start_ns - NEAR_NS;
}

/* An implement, or another of its ECUs. */
static bool is_implement(const struct findings *f, const struct found *found)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(f->history, (uint8_t)found->seen.interface,
                                                (uint8_t)found->seen.address);
    return ecu && dbr_ecu_is_implement(ecu);
}

bool same_ecu(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_address(effect, cause) && overlap(effect, cause);
}

bool on_same_bus(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause);
}

/* The recording's own gaps belong to no bus. */
bool at_same_time(const struct findings *f, const struct found *effect, const struct found *cause)
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

bool in_section(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && member_of(cause, effect->seen.address) &&
           overlap(effect, cause);
}

/* Who lost an address is silent under it from then on. */
bool lost_address(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_address(effect, cause) && starts_after(effect, cause) && overlap(effect, cause);
}

/* Cannot-claim by the one that had the contested address. */
bool lost_contest(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && starts_after(effect, cause) &&
           (member_of(effect, cause->seen.address) || overlap(effect, cause));
}

/* The selected speed follows the source that it selects (SPN 4308); satellites are one source,
 * whoever passes their word on. */
static bool is_selected(const struct dbr_speed_source *s, const struct found *effect,
                        const struct found *cause)
{
    switch (s->selection) {
    case 0:
        return cause->kind == DBR_SPEED_WHEEL && same_address(effect, cause);
    case 1:
        return cause->kind == DBR_SPEED_GROUND && same_address(effect, cause);
    case 2:
        return cause->kind == DBR_SPEED_NAVIGATION || cause->kind == DBR_SPEED_GNSS;
    default: /* blended, simulated, not told */
        return false;
    }
}

bool selects(const struct findings *f, const struct found *effect, const struct found *cause)
{
    bool follows = false;

    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *s = &f->history->sources[i];
        if (s->kind == DBR_SPEED_SELECTED && s->interface == effect->seen.interface &&
            s->address == effect->seen.address)
            follows |= is_selected(s, effect, cause);
    }
    return effect->kind == DBR_SPEED_SELECTED && follows && overlap(effect, cause);
}

/* Two findings about one and the same speed source. */
bool same_source(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return effect->kind == cause->kind && effect->seen.pgn == cause->seen.pgn &&
           same_address(effect, cause) && overlap(effect, cause);
}

bool restarted(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return same_ecu(f, effect, cause) && goes_with_restarts(f, effect);
}

/* What follows has gone on for a while when it is found: the cause began before it, or with it. */
bool chain_cause(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause) && starts_after(effect, cause);
}

/* An implement without rate: the speed that it lives by. */
bool speed_of_implement(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    return chain_cause(f, effect, cause) && lives_by_speed(f, effect, cause);
}

/* The status stopped because its sender did; who never answered may be any that is no implement. */
bool controller_silent(const struct findings *f, const struct found *effect,
                       const struct found *cause)
{
    return chain_cause(f, effect, cause) &&
           (is_of_implement(f, effect) ? !is_implement(f, cause) : same_address(effect, cause));
}

/* Who loses an address sends no status under it; the last one came up to a period before. */
bool controller_contested(const struct findings *f, const struct found *effect,
                          const struct found *cause)
{
    return lost_address(f, effect, cause) && !is_of_implement(f, effect);
}

/* A controller sends little: its silence shows by the status that is missing, and by nothing else. */
bool controller_came_back(const struct findings *f, const struct found *effect,
                          const struct found *cause)
{
    return lost_address(f, effect, cause) && !is_of_implement(f, cause);
}

/* Without a controller nobody asks the implement for anything. */
bool without_controller(const struct findings *f, const struct found *effect,
                        const struct found *cause)
{
    return same_bus(effect, cause) && overlap(effect, cause) &&
           (same_address(effect, cause) || is_about_controller(f, cause, effect));
}

/* Process data are sent because a controller asked for them, and stop without it (ISO 11783-10). */
bool asked_for(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return effect->kind == DBR_SPEED_IMPLEMENT && chain_cause(f, effect, cause) &&
           without_controller(f, effect, cause);
}

/* Who was not heard because the recorder was off the bus all the while, or struggled to stay. */
bool unheard(const struct findings *f, const struct found *effect, const struct found *cause)
{
    int64_t deaf_until = cause->seen.open ? f->history->end_ns : cause->seen.end_ns;
    int64_t until = effect->seen.open ? f->history->end_ns : effect->seen.end_ns;

    return chain_cause(f, effect, cause) && until <= deaf_until + NEAR_NS;
}

/* Errors that end as an ECU leaves, in the second before (contract, bus-off-suspected), or while
 * it is away and tries to return. */
static bool ends_with(const struct dbr_spell *burst, const struct found *off)
{
    return burst->end_ns >= off->seen.start_ns - LEAVING_NS &&
           (off->seen.open || burst->end_ns <= off->seen.end_ns);
}

static bool drove_any_off(const struct findings *f, const struct dbr_spell *burst,
                          const struct found *like)
{
    for (size_t i = 0; i < f->count; i++)
        if (strcmp(f->items[i]->seen.code, like->seen.code) == 0 && same_bus(f->items[i], like) &&
            ends_with(burst, f->items[i]))
            return true;
    return false;
}

/*
 * What an ECU sends into errors raises its counter until it must leave (ISO 11898-1): a burst that
 * ends with that was about it. Bursts are one finding: one of another time stands for itself.
 */
bool drove_off(const struct findings *f, const struct found *effect, const struct found *cause)
{
    if (!on_same_bus(f, effect, cause))
        return false;
    const struct dbr_spells *bursts = &f->history->buses[effect->seen.interface].bursts;
    bool this_one = false;
    for (size_t i = 0; i < bursts->count; i++) {
        if (!drove_any_off(f, &bursts->items[i], cause))
            return false;
        this_one = this_one || ends_with(&bursts->items[i], cause);
    }
    return this_one && bursts->folded == 0;
}

/* A silent ECU behind a missing rate: the implement itself, or another of the implement's. */
bool silent_implement(const struct findings *f, const struct found *effect,
                      const struct found *cause)
{
    return chain_cause(f, effect, cause) &&
           (same_address(effect, cause) || is_implement(f, cause));
}

/* Whether a finding is about one of the two between whom a transfer failed. */
bool one_of_both(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return same_bus(effect, cause) && overlap(effect, cause) &&
           (same_address(effect, cause) || member_of(effect, cause->seen.address));
}

/* Who was not there could not answer. */
bool did_not_answer(const struct findings *f, const struct found *effect,
                    const struct found *cause)
{
    return effect->waited_in_vain && one_of_both(f, effect, cause);
}

bool section_did_not_answer(const struct findings *f, const struct found *effect,
                            const struct found *cause)
{
    bool concerns = member_of(cause, effect->seen.address);

    for (size_t i = 0; i < effect->seen.address_count; i++)
        concerns |= member_of(cause, effect->seen.addresses[i]);
    return effect->waited_in_vain && concerns && on_same_bus(f, effect, cause);
}

bool made_up(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return chain_cause(f, effect, cause) && refused_most(cause, effect);
}

/* A code about the messages of an ECU that failed. */
bool misses(const struct findings *f, const struct found *effect, const struct found *cause)
{
    (void)f;
    return (cause->seen.interface < 0 || same_bus(effect, cause)) && overlap(effect, cause) &&
           code_misses(effect, cause);
}

bool supply_says(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return on_same_bus(f, effect, cause) && code_says_supply_low(effect);
}

/* The speed is what the machine lacks; an electrical code is the sender's own word about why. */
bool sender_says_why(const struct findings *f, const struct found *effect,
                     const struct found *cause)
{
    return on_same_bus(f, effect, cause) && code_tells_why(cause, effect);
}

bool says_it_again(const struct findings *f, const struct found *effect,
                   const struct found *cause)
{
    return chain_cause(f, effect, cause) && code_repeats(effect, cause);
}

/* Silent from an order to stop broadcasting on, and no longer than it held. */
bool ordered(const struct findings *f, const struct found *effect, const struct found *cause)
{
    return unheard(f, effect, cause) && order_is_for(cause, effect);
}

