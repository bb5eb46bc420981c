/* ecus.c - see ecus.h. */
#include "tracking/ecus.h"

#include <math.h>
#include <stdlib.h>

#include "drawbar/can_id.h"

/* Contract, ecu-silent. */
#define SILENCE_MIN_NS (3 * NS_PER_S)
#define SILENCE_INTERVALS 10
#define CHATTER_FRAMES 10u
#define CHATTER_NS (5 * NS_PER_S)

/* Claims, waiting for answers and connecting take an ECU some seconds (ISO 11783-10: 6 s). */
#define STARTUP_NS (10 * NS_PER_S)

static void take_prior(struct ecu *ecu, const struct prior_ecu *prior)
{
    ecu->heard_before = prior->heard;
    if (prior->named)
        ecu->seen.names[ecu->seen.name_count++] = prior->name;
}

struct ecu *ecus_find(struct ecus *e, uint8_t interface, uint8_t address)
{
    struct ecu **place = &e->by_address[interface][address];

    if (*place || address >= DBR_ADDRESS_NULL)
        return *place;
    if (e->count == DBR_ECUS_MAX)
        return NULL;
    struct ecu *ecu = calloc(1, sizeof *ecu);
    if (!ecu) {
        e->out_of_memory = true;
        return NULL;
    }
    ecu->seen.interface = interface;
    ecu->seen.address = address;
    ecu->seen.unclaimed_since_ns = -1;
    ecu->index = e->count;
    ecu->previous_ns = -1;
    if (e->prior)
        take_prior(ecu, &e->prior[interface][address]);
    e->items[e->count++] = ecu;
    *place = ecu;
    return ecu;
}

double ecu_mean_interval_s(const struct ecu *ecu)
{
    if (ecu->seen.frames < 2)
        return (double)NAN;
    return (double)ecu->active_ns / NS_PER_S / (double)(ecu->seen.frames - 1);
}

/* Some group of its comes with a beat, as far as it came at all. */
static bool has_beat(const struct ecu *ecu, const struct streams *streams)
{
    double period_s;

    for (size_t i = 0; i < streams->count; i++)
        if (streams->items[i]->ecu == ecu && stream_is_periodic(streams->items[i], &period_s))
            return true;
    return false;
}

/*
 * Whether a pause, on the clock of its bus, is a silence. An ECU that only
 * answers or reports changes pauses as a habit: it must have a beat, or never
 * have paused half so long.
 */
static bool is_silence(const struct ecu *ecu, const struct streams *streams, int64_t pause)
{
    if (pause < SILENCE_MIN_NS || ecu->seen.frames < CHATTER_FRAMES ||
        ecu->active_ns < CHATTER_NS)
        return false;
    double mean_ns = ecu_mean_interval_s(ecu) * NS_PER_S;
    if ((double)pause < SILENCE_INTERVALS * mean_ns)
        return false;
    return ecu->settled_pause <= pause / 2 || has_beat(ecu, streams);
}

static void take_pause(struct ecu *ecu, int64_t now, int64_t pause,
                       const struct streams *streams)
{
    if (is_silence(ecu, streams, pause)) {
        struct dbr_spell spell = spell_make(ecu->seen.last_ns, now);
        spells_add(&ecu->seen.silences, &spell);
        ecu->silence_count++;
        return;
    }
    ecu->active_ns += pause;
    ecu->settled_before = ecu->settled_pause;
    if (now - ecu->seen.first_ns > STARTUP_NS && pause > ecu->settled_pause)
        ecu->settled_pause = pause;
}

static void take_bus_pauses(struct ecu *ecu, int64_t now, const struct bus *bus)
{
    uint64_t pauses = bus->seen.pauses.count + bus->seen.pauses.folded;

    if (ecu->seen.frames > 0 && pauses != ecu->bus_pauses)
        ecu->comebacks[ecu->comeback_count++ % ECU_COMEBACKS] =
            (struct comeback){.left_ns = ecu->seen.last_ns, .back_ns = now, .claim_ns = -1};
    ecu->bus_pauses = pauses;
}

void ecu_claim(struct ecu *ecu)
{
    if (ecu->comeback_count == 0)
        return;
    struct comeback *last = &ecu->comebacks[(ecu->comeback_count - 1) % ECU_COMEBACKS];
    if (last->claim_ns < 0)
        last->claim_ns = ecu->seen.last_ns;
}

void ecu_frame(struct ecu *ecu, int64_t now, const struct bus *bus, const struct streams *streams)
{
    if (ecu->seen.frames == 0)
        ecu->seen.first_ns = now;
    else
        take_pause(ecu, now, bus->alive_ns - ecu->alive_at_last, streams);
    take_bus_pauses(ecu, now, bus);
    if (ecu->previous_ns >= 0)
        ecu->pauses[ecu->pause_count++ % ECU_PAUSES] = ecu->seen.last_ns - ecu->previous_ns;
    ecu->previous_ns = ecu->seen.frames ? ecu->seen.last_ns : -1;
    ecu->seen.frames++;
    ecu->seen.last_ns = now;
    ecu->alive_at_last = bus->alive_ns;
}

void ecu_finish(struct ecu *ecu, const struct bus *bus, const struct streams *streams,
                int64_t end_ns)
{
    ecu->seen.mean_interval_s = ecu_mean_interval_s(ecu);
    if (!is_silence(ecu, streams, bus->alive_ns - ecu->alive_at_last))
        return;
    struct dbr_spell spell = spell_make(ecu->seen.last_ns, end_ns);
    spell.open = true;
    spells_add(&ecu->seen.silences, &spell);
}

void ecus_release(struct ecus *e)
{
    free(e->prior);
    for (size_t i = 0; i < e->count; i++)
        free(e->items[i]);
}
