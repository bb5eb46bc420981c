/* shutdown.c - see shutdown.h. */
#include "tracking/shutdown.h"

#include "drawbar/name.h"
#include "tracking/partings.h"

#define NOT_HEARD_NS (3 * NS_PER_S)
#define CHATTER_FRAMES 10u
#define CHATTERING_MIN 3u

#define TOGETHER_NS (NS_PER_S / 2)

#define ENGINE_FUNCTION 0u
#define ENGINE_ADDRESS 0u
#define TRACTOR_FUNCTION 134u /* of no class: ISO 11783-1, as in name_words.c */
#define TRACTOR_ADDRESS 240u

/* Self-configurable addresses of implements (ISO 11783-5): a guess where no NAME was seen. */
#define IMPLEMENT_ADDRESS_MIN 128u
#define IMPLEMENT_ADDRESS_MAX 235u

static bool may_be_implement(const struct dbr_ecu *ecu)
{
    if (ecu->name_count > 0)
        return dbr_ecu_is_implement(ecu);
    return ecu->address >= IMPLEMENT_ADDRESS_MIN && ecu->address <= IMPLEMENT_ADDRESS_MAX;
}

static bool chatters(const struct ecu *ecu, uint8_t interface)
{
    return ecu->seen.interface == interface && ecu->seen.frames >= CHATTER_FRAMES;
}

static bool has_ended(const struct ecu *ecu, const struct bus *bus)
{
    return bus->alive_ns - ecu->alive_at_last >= NOT_HEARD_NS;
}

static int64_t latest_end(const struct ecus *ecus, const struct bus *bus, uint8_t interface)
{
    int64_t latest = -1;

    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        if (chatters(ecu, interface) && has_ended(ecu, bus) && ecu->seen.last_ns > latest)
            latest = ecu->seen.last_ns;
    }
    return latest;
}

/* Functions below 128 are the same in every industry group (SAE J1939 appendix B). */
static bool is_engine(const struct dbr_ecu *ecu)
{
    if (ecu->name_count == 0)
        return ecu->address == ENGINE_ADDRESS;
    return dbr_name_split(ecu->names[ecu->name_count - 1]).function == ENGINE_FUNCTION;
}

static bool is_tractor(const struct dbr_ecu *ecu)
{
    if (ecu->name_count == 0)
        return ecu->address == TRACTOR_ADDRESS;
    struct dbr_name_fields name = dbr_name_split(ecu->names[ecu->name_count - 1]);
    return name.industry_group == DBR_INDUSTRY_GROUP_AGRICULTURE &&
           (name.device_class == DBR_DEVICE_CLASS_TRACTOR ||
            (name.device_class == 0 && name.function == TRACTOR_FUNCTION));
}

/* Who ended for good when the bus did, as far as that can be said. */
struct ending {
    int64_t latest_ns, first_ns;
    size_t chattering, ended;
    size_t others;             /* of the ended ones: those that are no implements */
    size_t awake;              /* of those that go on: who would not without the key */
    const struct ecu *engine;  /* among the ended ones */
};

static struct ending ending_of(const struct ecus *ecus, const struct bus *bus, uint8_t interface)
{
    struct ending e = {.latest_ns = latest_end(ecus, bus, interface)};

    e.first_ns = e.latest_ns;
    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        if (!chatters(ecu, interface))
            continue;
        e.chattering++;
        if (!has_ended(ecu, bus))
            e.awake += may_be_implement(&ecu->seen) || is_tractor(&ecu->seen);
        if (!has_ended(ecu, bus) || e.latest_ns - ecu->seen.last_ns > POWER_DOWN_NS)
            continue;
        e.ended++;
        e.others += !may_be_implement(&ecu->seen);
        if (is_engine(&ecu->seen))
            e.engine = ecu;
        if (ecu->seen.last_ns < e.first_ns)
            e.first_ns = ecu->seen.last_ns;
    }
    return e;
}

/* The engine's ECU ended, and no other within the time in which a section of the harness does
 * (contract, harness-section-silent). */
static bool engine_went_first(const struct ending *e, const struct ecus *ecus,
                              const struct bus *bus, uint8_t interface)
{
    if (!e->engine || e->engine->seen.last_ns > e->first_ns)
        return false;
    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        int64_t later = ecu->seen.last_ns - e->first_ns;
        if (ecu != e->engine && chatters(ecu, interface) && has_ended(ecu, bus) && later >= 0 &&
            later <= TOGETHER_NS)
            return false;
    }
    return true;
}

int64_t shutdown_moment(const struct ecus *ecus, const struct bus *bus, uint8_t interface,
                        bool standing)
{
    if (bus->seen.key_off_ns >= 0)
        return bus->seen.key_off_ns;
    struct ending e = ending_of(ecus, bus, interface);
    if (e.chattering < CHATTERING_MIN || e.others == 0)
        return -1;
    /* Three quarters: an implement that is torn off takes no tractor ECUs with it. */
    if (e.ended * 4 >= e.chattering * 3)
        return e.first_ns;
    /* A terminal and its like may stay awake for longer than the rest. */
    bool by_key = standing && e.awake == 0 && e.ended >= CHATTERING_MIN &&
                  e.ended * 2 > e.chattering && engine_went_first(&e, ecus, bus, interface);
    return by_key ? e.first_ns : -1;
}
