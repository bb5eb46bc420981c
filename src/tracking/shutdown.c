/* shutdown.c - see shutdown.h. */
#include "tracking/shutdown.h"

#include "drawbar/name.h"
#include "tracking/partings.h"

#define NOT_HEARD_NS (3 * NS_PER_S)
#define CHATTER_FRAMES 10u
#define CHATTERING_MIN 3u

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

int64_t shutdown_moment(const struct ecus *ecus, const struct bus *bus, uint8_t interface)
{
    int64_t latest = latest_end(ecus, bus, interface), first = latest;
    size_t chattering = 0, ended = 0, others = 0;

    if (bus->seen.key_off_ns >= 0)
        return bus->seen.key_off_ns;
    for (size_t i = 0; i < ecus->count; i++) {
        const struct ecu *ecu = ecus->items[i];
        if (!chatters(ecu, interface))
            continue;
        chattering++;
        if (!has_ended(ecu, bus) || latest - ecu->seen.last_ns > POWER_DOWN_NS)
            continue;
        ended++;
        others += !may_be_implement(&ecu->seen);
        if (ecu->seen.last_ns < first)
            first = ecu->seen.last_ns;
    }
    /* Three quarters: an implement that is torn off takes no tractor ECUs with it. */
    bool nearly_all = chattering >= CHATTERING_MIN && ended * 4 >= chattering * 3 && others > 0;
    return nearly_all ? first : -1;
}
