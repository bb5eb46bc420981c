/*
 * restarts.c - who claims its address again though nobody on the bus asked for it: it started anew.
 */
#include <stdlib.h>

#include "tracking/addresses_internal.h"
#include "tracking/partings.h"

#define TOGETHER_NS (5 * NS_PER_S) /* contract, ecu-restart: all within 5 s is a key cycle */

/* A booting ECU asks from the null address before it claims; one that ran until then was away. */
#define BOOT_PAUSE_NS (NS_PER_S / 2)
#define BOOT_INTERVALS 5

/* SAE J1939-81 4.2: whoever claims one of the self-configurable addresses sends nothing else for so
 * long. An answer keeps nobody from going on. */
#define CONTENTION_NS (250 * NS_PER_MS)
#define SELF_CONFIGURED_MIN 128u
#define SELF_CONFIGURED_MAX 247u

#define SETTLED_FRAMES 100u /* by then its habits are known */
#define STRAY_FRAMES 2u     /* what an ECU may send between its question and its claim */

/* The frames of an ECU around a moment before its latest frame. */
struct surround {
    int64_t last_ns; /* before it; -1: not known */
    int64_t longest; /* of the pauses before that */
};

static struct surround surround_of(const struct ecu *ecu, int64_t at_ns)
{
    struct surround around = {.last_ns = ecu->previous_ns};
    size_t kept = ecu->pause_count < ECU_PAUSES ? ecu->pause_count : ECU_PAUSES;
    size_t since = 0;

    while (around.last_ns > at_ns && since < kept)
        around.last_ns -= ecu->pauses[(ecu->pause_count - ++since) % ECU_PAUSES];
    if (around.last_ns > at_ns || since > STRAY_FRAMES)
        around.last_ns = -1;
    for (size_t i = since; i < kept; i++) {
        int64_t pause = ecu->pauses[(ecu->pause_count - 1 - i) % ECU_PAUSES];
        around.longest = pause > around.longest ? pause : around.longest;
    }
    return around;
}

/* How long an ECU had been away when the null address asked; 0 where it was no longer than it
 * pauses at times. An ECU may also have become quieter, as an implement does without its
 * controller: then one of the pauses before this one was long as well. */
static int64_t away_before(const struct ecu *ecu, int64_t asked_ns)
{
    struct surround around = surround_of(ecu, asked_ns);
    double mean_ns = ecu_mean_interval_s(ecu) * NS_PER_S;
    int64_t pause = asked_ns - around.last_ns;

    if (around.last_ns < 0 || pause <= 2 * around.longest ||
        (double)pause <= BOOT_INTERVALS * mean_ns)
        return 0;
    return pause;
}

/* Whether the null address that asked was this ECU itself, booting: it had been away. */
static bool was_away_before(const struct ecu *ecu, int64_t asked_ns)
{
    return away_before(ecu, asked_ns) > BOOT_PAUSE_NS;
}

/*
 * Whether a question to all was put by the ECU that claims now, as it booted: under the null
 * address, or under its own. One that was there all the while answers its own question as all do
 * (SAE J1939-21, request to the global address).
 */
static bool asked_as_it_booted(const struct sighting *s, unsigned source, int64_t asked_ns)
{
    bool own = source == s->id.source;

    if (!s->ecu)
        return own;
    if (own)
        return was_away_before(s->ecu, asked_ns - 1); /* the question is a frame of its own */
    return source == DBR_ADDRESS_NULL && was_away_before(s->ecu, asked_ns);
}

bool restarts_was_asked(const struct addresses *a, const struct sighting *s)
{
    const int64_t *asked = a->asked_all[s->frame->interface];
    int64_t since = s->now_ns - ANSWER_NS;

    if (s->ecu) {
        const struct claimant *c = &a->claimants[s->ecu->index];
        if (c->directed_ns >= 0 && c->directed_ns >= since)
            return true;
    }
    for (unsigned source = 0; source < 256; source++)
        if (asked[source] >= 0 && asked[source] >= since &&
            !asked_as_it_booted(s, source, asked[source]))
            return true;
    return false;
}

void addresses_add_restart(struct addresses *a, const struct ecu *ecu, int64_t at_ns)
{
    if (a->restart_count == DBR_CLAIM_EVENTS_MAX) {
        a->dropped++;
        return;
    }
    a->restarts[a->restart_count++] = (struct dbr_restart){.ecu = ecu->index, .at_ns = at_ns};
}

/*
 * Whether it may have been this ECU that asked, though it was away for a moment only: for longer
 * than ever. What follows the claim decides (restarts_frame).
 */
static bool may_have_booted(const struct addresses *a, const struct sighting *s)
{
    int64_t asked_ns = a->asked_all[s->frame->interface][DBR_ADDRESS_NULL];
    const struct ecu *ecu = s->ecu;

    return ecu->seen.address >= SELF_CONFIGURED_MIN && ecu->seen.address <= SELF_CONFIGURED_MAX &&
           ecu->seen.frames >= SETTLED_FRAMES && ecu->settled_before > 0 &&
           asked_ns >= s->now_ns - ANSWER_NS &&
           away_before(ecu, asked_ns) > ecu->settled_before;
}

void restarts_claim(struct addresses *a, const struct sighting *s, bool asked)
{
    if (!asked)
        addresses_add_restart(a, s->ecu, s->now_ns);
    else if (may_have_booted(a, s))
        a->claimants[s->ecu->index].booted_ns = s->now_ns;
}

void restarts_frame(struct addresses *a, const struct sighting *s)
{
    struct claimant *c = &a->claimants[s->ecu->index];

    if (c->booted_ns >= 0 && s->now_ns - c->booted_ns >= CONTENTION_NS)
        addresses_add_restart(a, s->ecu, c->booted_ns);
    c->booted_ns = -1;
}

/* Whether an ECU claimed around a moment; `*by_itself`: also without being asked. */
static bool claimed_near(const struct claimant *c, int64_t at_ns, bool *by_itself)
{
    bool claimed = false;

    *by_itself = false;
    for (uint64_t i = 0; i < c->claim_count && i < CLAIM_TIMES; i++)
        if (llabs(c->claims[i] - at_ns) <= TOGETHER_NS) {
            claimed = true;
            *by_itself = *by_itself || c->by_itself[i];
        }
    return claimed;
}

/*
 * Every ECU that was on the bus around then claimed within 5 s, and at least half
 * of them by themselves: the key was turned. The others may have stayed awake, as
 * an engine's does while it is cranked, and answered when asked.
 */
static bool all_claimed_near(const struct addresses *a, const struct ecus *ecus,
                             uint8_t interface, int64_t at_ns)
{
    size_t around = 0, booted = 0;

    for (size_t i = 0; i < ecus->count; i++) {
        const struct dbr_ecu *ecu = &ecus->items[i]->seen;
        bool by_itself;
        if (ecu->interface != interface || ecu->first_ns > at_ns + TOGETHER_NS ||
            ecu->last_ns < at_ns - TOGETHER_NS)
            continue;
        if (!claimed_near(&a->claimants[i], at_ns, &by_itself))
            return false;
        around++;
        booted += by_itself;
    }
    return booted * 2 >= around;
}

static int by_time(const void *x, const void *y)
{
    const struct dbr_restart *a = x, *b = y;
    return (a->at_ns > b->at_ns) - (a->at_ns < b->at_ns);
}

/* The first restart of its ECU since the key was turned off, as the key switch told. */
static bool comes_with_key(const struct addresses *a, const struct bus *bus, size_t restart)
{
    const struct dbr_restart *r = &a->restarts[restart];
    int64_t off_ns = parting_key_off(bus, r->at_ns);

    for (size_t i = 0; i < restart; i++)
        if (a->restarts[i].ecu == r->ecu && a->restarts[i].at_ns >= off_ns)
            return false;
    return off_ns >= 0;
}

void restarts_finish(struct addresses *a, struct ecus *ecus, const struct bus *buses)
{
    qsort(a->restarts, a->restart_count, sizeof a->restarts[0], by_time);
    for (size_t i = 0; i < a->restart_count; i++) {
        struct dbr_restart *r = &a->restarts[i];
        struct dbr_ecu *ecu = &ecus->items[r->ecu]->seen;
        r->ordinal = (unsigned)++ecu->restarts;
        r->with_all = all_claimed_near(a, ecus, ecu->interface, r->at_ns) ||
                      comes_with_key(a, &buses[ecu->interface], i);
    }
}
