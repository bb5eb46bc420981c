/* powerups.c - see powerups.h. */
#include "tracking/powerups.h"

#include "tracking/partings.h"

/* SAE J1939-81 4.2: nobody sends before it has claimed. Half of them at least keep to it: an answer
 * to the question of another ECU comes at any time. */
#define FIRST_WORDS_NS (NS_PER_S / 4)

/* The others claim soon; an engine's may send a little before (common practice, no source). */
#define CLAIM_NS (2 * NS_PER_S)

#define TOGETHER_MIN 2u

static bool is_interval(const struct comeback *c, const struct dbr_spell *pause)
{
    return c->left_ns <= pause->start_ns && c->back_ns >= pause->end_ns;
}

/* How an ECU came back from a pause; NULL: not, or too long ago to be known. */
static const struct comeback *comeback_from(const struct ecu *ecu, const struct dbr_spell *pause)
{
    for (size_t i = 0; i < ECU_COMEBACKS && i < ecu->comeback_count; i++)
        if (is_interval(&ecu->comebacks[i], pause))
            return &ecu->comebacks[i];
    return NULL;
}

/* Who was on the bus before a pause and after it. */
static bool outlives(const struct ecu *ecu, uint8_t interface, const struct dbr_spell *pause)
{
    return ecu->seen.interface == interface && ecu->seen.first_ns <= pause->start_ns &&
           ecu->seen.last_ns >= pause->end_ns;
}

/* Whether all that came back with a pause's end claimed, as far as they ever claim. */
static bool all_claimed(const struct ecus *ecus, uint8_t interface, const struct dbr_spell *pause)
{
    size_t back = 0, first_words = 0;

    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        if (!outlives(ecu, interface, pause) || ecu->seen.name_count == 0)
            continue;
        const struct comeback *c = comeback_from(ecu, pause);
        if (c && c->back_ns > pause->end_ns + POWER_UP_NS)
            continue; /* it comes by itself, and is told by itself */
        if (!c || c->claim_ns < 0 || c->claim_ns - c->back_ns > CLAIM_NS)
            return false;
        back++;
        first_words += c->claim_ns - c->back_ns <= FIRST_WORDS_NS;
    }
    return back >= TOGETHER_MIN && first_words * 2 >= back;
}

/* When the first of those that went down with it was heard last. */
static int64_t going_down(const struct ecus *ecus, uint8_t interface,
                          const struct dbr_spell *pause)
{
    int64_t first_ns = pause->start_ns;

    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        const struct comeback *c =
            outlives(ecu, interface, pause) ? comeback_from(ecu, pause) : NULL;
        if (c && c->left_ns < first_ns && pause->start_ns - c->left_ns <= POWER_DOWN_NS)
            first_ns = c->left_ns;
    }
    return first_ns;
}

/* The power of a machine is that of all its buses: where one goes on, it is another matter. */
static bool is_silent(const struct bus *bus, const struct dbr_spell *pause)
{
    const struct dbr_spells *own = &bus->seen.pauses;

    if (bus->traffic == 0 || bus->last_traffic_ns <= pause->start_ns ||
        bus->seen.first_ns >= pause->end_ns)
        return true;
    for (size_t i = 0; i < own->count; i++)
        if (own->items[i].start_ns < pause->end_ns && own->items[i].end_ns > pause->start_ns)
            return true;
    return false;
}

static bool all_silent(const struct bus *buses, const struct dbr_spell *pause)
{
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        if (!is_silent(&buses[i], pause))
            return false;
    return true;
}

static void find_on(const struct ecus *ecus, struct bus *buses, uint8_t interface)
{
    struct dbr_spells *pauses = &buses[interface].seen.pauses;

    for (size_t i = 0; i < pauses->count; i++) {
        struct dbr_spell *pause = &pauses->items[i];
        if (!all_claimed(ecus, interface, pause) || !all_silent(buses, pause))
            continue;
        struct dbr_spell turn = spell_make(going_down(ecus, interface, pause), pause->end_ns);
        spells_add(&buses[interface].key_turns, &turn);
        pause->count = 1;
    }
}

void powerups_find(const struct ecus *ecus, struct bus *buses)
{
    for (unsigned i = 0; i < DBR_INTERFACES_MAX; i++)
        find_on(ecus, buses, (uint8_t)i);
}

void powerups_explain(const struct bus *buses, struct dbr_spells *pauses)
{
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++)
        for (size_t k = 0; k < buses[i].seen.pauses.count; k++) {
            const struct dbr_spell *own = &buses[i].seen.pauses.items[k];
            for (size_t n = 0; own->count > 0 && n < pauses->count; n++)
                if (own->start_ns <= pauses->items[n].start_ns &&
                    own->end_ns >= pauses->items[n].end_ns)
                    pauses->items[n].count = 1;
        }
}
