/* addresses.c - see addresses.h. Contests for an address: contests.c; restarts: restarts.c. */
#include "tracking/addresses.h"

#include <stdlib.h>

#include "drawbar/name.h"
#include "tracking/addresses_internal.h"
#include "tracking/partings.h"

/* Contract, address-unclaimed. */
#define LATE_START_NS (5 * NS_PER_S)
#define LATE_CLAIM_NS (5 * NS_PER_S)
#define LATE_FRAMES 10u

#define RETURN_CLAIM_NS (2 * NS_PER_S) /* a claim so soon after a silence belongs to the return */
#define TWIN_NS NS_PER_S               /* contract: "both keep sending"; a move stops at once */

struct addresses *addresses_new(void)
{
    struct addresses *a = calloc(1, sizeof *a);

    for (size_t i = 0; a && i < DBR_INTERFACES_MAX; i++)
        for (size_t j = 0; j < 256; j++)
            a->asked_all[i][j] = -1;
    for (size_t i = 0; a && i < DBR_ECUS_MAX; i++)
        a->claimants[i].asked_ns = a->claimants[i].directed_ns = a->claimants[i].booted_ns = -1;
    return a;
}

void addresses_free(struct addresses *a)
{
    free(a);
}

struct holder *addresses_holder(struct addresses *a, uint8_t interface, uint64_t name)
{
    for (size_t i = 0; i < a->holder_count; i++)
        if (a->holders[i].name == name && a->holders[i].interface == interface)
            return &a->holders[i];
    return NULL;
}

static void set_holder(struct addresses *a, const struct sighting *s, uint64_t name)
{
    struct holder *h = addresses_holder(a, s->frame->interface, name);

    if (!h && a->holder_count == HOLDERS_MAX) {
        a->dropped++;
        return;
    }
    if (!h)
        h = &a->holders[a->holder_count++];
    *h = (struct holder){name, s->frame->interface, s->id.source, s->now_ns};
}

static uint32_t requested_pgn(const struct dbr_frame *frame)
{
    if (frame->length < 3)
        return UINT32_MAX;
    return dbr_pgn_read(frame->data);
}

/* A request for address claimed, to all or to one. Debts of ECUs begin here. */
static void take_request(struct addresses *a, const struct sighting *s)
{
    if (requested_pgn(s->frame) != DBR_PGN_ADDRESS_CLAIMED)
        return;
    if (s->id.destination == DBR_ADDRESS_GLOBAL)
        a->asked_all[s->frame->interface][s->id.source] = s->now_ns;
    for (size_t i = 0; i < DBR_ECUS_MAX && a->claimants[i].ecu; i++) {
        struct claimant *c = &a->claimants[i];
        const struct dbr_ecu *ecu = &c->ecu->seen;
        bool meant = s->id.destination == DBR_ADDRESS_GLOBAL || s->id.destination == ecu->address;
        if (ecu->interface != s->frame->interface || !meant || ecu->address == s->id.source)
            continue;
        if (s->id.destination == ecu->address)
            c->directed_ns = s->now_ns;
        if (c->asked_ns < 0 && ecu->name_count == 0) {
            c->asked_ns = s->now_ns;
            c->asked_alive = s->bus->alive_ns;
        }
    }
}

static void take_cannot_claim(struct addresses *a, const struct sighting *s, uint64_t name)
{
    const struct holder *h = addresses_holder(a, s->frame->interface, name);
    struct dbr_cannot_claim *entry = NULL;

    for (size_t i = 0; i < a->cannot_claim_count && !entry; i++)
        if (a->cannot_claims[i].name == name &&
            a->cannot_claims[i].interface == s->frame->interface)
            entry = &a->cannot_claims[i];
    if (!entry && a->cannot_claim_count == DBR_CLAIM_EVENTS_MAX) {
        a->dropped++;
        return;
    }
    if (!entry) {
        entry = &a->cannot_claims[a->cannot_claim_count++];
        *entry = (struct dbr_cannot_claim){.interface = s->frame->interface,
                                           .name = name,
                                           .first_ns = s->now_ns,
                                           .previous_address = -1};
    }
    if (h && h->address != DBR_ADDRESS_NULL)
        entry->previous_address = h->address;
    entry->last_ns = s->now_ns;
    entry->count++;
}

/* The same NAME held another address until now: a move, unless the other goes on sending. */
static void watch_twin(struct addresses *a, const struct sighting *s, uint64_t name)
{
    const struct holder *h = addresses_holder(a, s->frame->interface, name);

    if (!h || h->address == s->id.source || h->address == DBR_ADDRESS_NULL)
        return;
    if (a->twin_count == CONTESTS_MAX) {
        a->dropped++;
        return;
    }
    a->twins[a->twin_count++] = (struct twin){.seen = {.interface = s->frame->interface,
                                                       .first_address = h->address,
                                                       .second_address = s->id.source,
                                                       .name = name,
                                                       .at_ns = s->now_ns}};
}

static void remember_name(struct dbr_ecu *ecu, uint64_t name)
{
    if (ecu->name_count > 0 && ecu->names[ecu->name_count - 1] == name)
        return;
    if (ecu->name_count == DBR_NAMES_MAX) {
        for (size_t i = 1; i < DBR_NAMES_MAX; i++)
            ecu->names[i - 1] = ecu->names[i];
        ecu->name_count--;
    }
    ecu->names[ecu->name_count++] = name;
}

/* A claim for a real address: first, repeated, or against somebody. */
static void take_claim(struct addresses *a, const struct sighting *s, uint64_t name, bool asked)
{
    struct dbr_ecu *ecu = &s->ecu->seen;
    struct claimant *c = &a->claimants[s->ecu->index];
    bool worked = ecu->frames > ecu->claims + 1; /* this claim is counted in frames already */
    bool repeated = ecu->name_count > 0 && ecu->names[ecu->name_count - 1] == name;
    bool other = ecu->name_count > 0 && !repeated;

    if (other || (ecu->name_count == 0 && worked && !asked))
        contest_begin(a, s, name);
    else if (repeated && !contests_touch(a, s))
        restarts_claim(a, s, asked);
    watch_twin(a, s, name);
    set_holder(a, s, name);
    remember_name(ecu, name);
    ecu_claim(s->ecu);
    if (ecu->claims < DBR_CLAIM_TIMES_MAX)
        ecu->claim_ns[ecu->claims] = s->now_ns;
    ecu->claims++;
    c->asked_ns = -1;
    c->by_itself[c->claim_count % CLAIM_TIMES] = !asked || s->ecu->previous_ns < 0;
    c->claims[c->claim_count++ % CLAIM_TIMES] = s->now_ns;
    struct dbr_spell *silence = spells_last(&ecu->silences);
    if (silence && !asked && s->now_ns - silence->end_ns <= RETURN_CLAIM_NS)
        silence->count++;
}

/* A frame of an ECU that never claimed: does it owe a claim? */
static void check_debt(struct addresses *a, const struct sighting *s)
{
    struct dbr_ecu *ecu = &s->ecu->seen;
    const struct claimant *c = &a->claimants[s->ecu->index];
    int64_t life = s->now_ns - ecu->first_ns;

    if (ecu->name_count > 0 || ecu->unclaimed_since_ns >= 0)
        return;
    if (c->asked_ns >= 0 && s->bus->alive_ns - c->asked_alive > ANSWER_NS) {
        ecu->unclaimed_since_ns = c->asked_ns;
        ecu->asked_in_vain = true;
    } else if (!s->ecu->heard_before && ecu->first_ns > LATE_START_NS && life > LATE_CLAIM_NS &&
               ecu->frames >= LATE_FRAMES && (double)ecu->frames >= (double)life / NS_PER_S) {
        ecu->unclaimed_since_ns = ecu->first_ns;
    }
}

static void watch_twins(struct addresses *a, const struct sighting *s)
{
    for (size_t i = 0; i < a->twin_count; i++) {
        struct twin *t = &a->twins[i];
        bool first = t->seen.first_address == s->id.source;
        bool still_his = s->ecu->seen.name_count > 0 &&
                         s->ecu->seen.names[s->ecu->seen.name_count - 1] == t->seen.name;
        if (t->seen.interface == s->frame->interface && first && still_his &&
            s->now_ns - t->seen.at_ns >= TWIN_NS)
            t->frames++;
    }
}

void addresses_frame(struct addresses *a, const struct sighting *s)
{
    if (s->ecu)
        a->claimants[s->ecu->index].ecu = s->ecu;
    if (s->id.pgn == DBR_PGN_REQUEST)
        take_request(a, s);
    if (s->id.pgn == DBR_PGN_ADDRESS_CLAIMED && s->frame->length >= 8) {
        uint64_t name = dbr_name_from_bytes(s->frame->data);
        bool asked = restarts_was_asked(a, s);
        contests_claim(a, s, name, asked);
        if (s->ecu) {
            take_claim(a, s, name, asked);
        } else if (s->id.source == DBR_ADDRESS_NULL) {
            take_cannot_claim(a, s, name);
            set_holder(a, s, name);
        }
        return;
    }
    if (!s->ecu)
        return;
    restarts_frame(a, s);
    check_debt(a, s);
    watch_twins(a, s);
    contests_frame(a, s);
}

static void finish_twins(struct addresses *a, const struct ecus *ecus)
{
    for (size_t i = 0; i < a->twin_count; i++) {
        const struct twin *t = &a->twins[i];
        const struct ecu *second = ecus->by_address[t->seen.interface][t->seen.second_address];
        bool second_sends = second && second->seen.last_ns - t->seen.at_ns >= TWIN_NS;
        if (t->frames >= 2 && second_sends)
            a->duplicates[a->duplicate_count++] = t->seen;
    }
}

void addresses_finish(struct addresses *a, struct ecus *ecus, const struct bus *buses,
                      struct dbr_history *history)
{
    contests_finish(a, buses);
    restarts_finish(a, ecus, buses);
    finish_twins(a, ecus);
    partings_drop(a, ecus, buses);
    history->conflicts = a->conflicts;
    history->conflict_count = a->conflict_count;
    history->cannot_claims = a->cannot_claims;
    history->cannot_claim_count = a->cannot_claim_count;
    history->restarts = a->restarts;
    history->restart_count = a->restart_count;
    history->duplicates = a->duplicates;
    history->duplicate_count = a->duplicate_count;
    history->events_dropped = a->dropped;
}
