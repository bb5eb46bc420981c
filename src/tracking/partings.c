/* partings.c - see partings.h. */
#include "tracking/partings.h"

#include <math.h>

#include "tracking/addresses_internal.h"

/* Between the last message under one address and the claim of the next one, less than what
 * makes a silence (contract, ecu-silent: 3 s); what was queued may still come after it. */
#define CHANGE_NS (3 * NS_PER_S)
#define QUEUED_NS NS_PER_S

/* It goes on: for so long that a silence of the new address would be noticed by itself. */
#define GOES_ON_NS (5 * NS_PER_S)

#define INTERVAL_MAX_S 2.0 /* as for silences that begin together */

bool parting_with_key(const struct bus *bus, const struct dbr_spell *gap, int64_t play_ns)
{
    const struct dbr_spells *turns = &bus->key_turns;

    for (size_t i = 0; i < turns->count; i++)
        if (gap->start_ns + play_ns >= turns->items[i].start_ns &&
            gap->start_ns <= turns->items[i].end_ns &&
            gap->end_ns <= turns->items[i].end_ns + POWER_UP_NS)
            return true;
    return false;
}

int64_t parting_key_off(const struct bus *bus, int64_t at_ns)
{
    const struct dbr_spells *turns = &bus->key_turns;

    for (size_t i = 0; i < turns->count; i++)
        if (at_ns >= turns->items[i].start_ns && at_ns <= turns->items[i].end_ns + POWER_UP_NS)
            return turns->items[i].start_ns;
    return -1;
}

bool parting_by_move(const struct ecu *ecu, const struct dbr_spell *gap)
{
    return ecu->left && gap->start_ns <= ecu->left_ns &&
           ecu->left_ns - gap->start_ns <= QUEUED_NS && gap->end_ns > ecu->left_ns;
}

static bool goes_on(const struct ecu *ecu, int64_t since_ns, const struct bus *bus)
{
    return ecu && (ecu->seen.last_ns - since_ns >= GOES_ON_NS ||
                   bus->alive_ns - ecu->alive_at_last < CHANGE_NS);
}

/* The NAME that held this address claims another one as the silence begins, and goes on there. */
static bool moves_away(const struct addresses *a, const struct ecus *ecus, const struct ecu *ecu,
                       const struct dbr_spell *silence, const struct bus *bus)
{
    for (size_t i = 0; i < a->twin_count; i++) {
        const struct dbr_duplicate *t = &a->twins[i].seen;
        if (t->interface == ecu->seen.interface && t->first_address == ecu->seen.address &&
            silence->start_ns > t->at_ns - CHANGE_NS && silence->start_ns <= t->at_ns + QUEUED_NS &&
            goes_on(ecus->by_address[t->interface][t->second_address], t->at_ns, bus))
            return true;
    }
    return false;
}

static void drop_of(const struct addresses *a, const struct ecus *ecus, struct ecu *ecu,
                    const struct bus *bus)
{
    struct dbr_spells *silences = &ecu->seen.silences;
    int64_t play_ns = (int64_t)(fmin(ecu->seen.mean_interval_s, INTERVAL_MAX_S) * NS_PER_S);
    size_t kept = 0;

    for (size_t i = 0; i < silences->count; i++) {
        const struct dbr_spell *silence = &silences->items[i];
        bool moves = moves_away(a, ecus, ecu, silence, bus);
        if (moves) {
            ecu->left = true;
            ecu->left_ns = silence->start_ns;
        }
        if (!moves && !parting_with_key(bus, silence, play_ns))
            silences->items[kept++] = *silence;
    }
    silences->count = kept;
}

void partings_drop(const struct addresses *a, struct ecus *ecus, const struct bus *buses)
{
    for (size_t i = 0; i < ecus->count; i++)
        drop_of(a, ecus, ecus->items[i], &buses[ecus->items[i]->seen.interface]);
}
