/* supplies.c - see supplies.h. */
#include "tracking/supplies.h"

/* Contract, supply-low: a 12 V system below 11.0 V for two seconds (cranking is shorter). */
#define LOW_V 11.0
#define LOW_NS (2 * NS_PER_S)

/* An ECU that still sends has more than this: the input is not connected (common practice). */
#define PLAUSIBLE_V 5.0

/* Nobody turns a key off and on faster (common practice, no source): two senders at odds do. */
#define TURN_NS NS_PER_S

static struct supply *find_supply(struct supplies *su, const struct sighting *s)
{
    for (size_t i = 0; i < su->count; i++)
        if (su->items[i].seen.interface == s->frame->interface &&
            su->items[i].seen.address == s->id.source)
            return &su->items[i];
    if (su->count == DBR_SUPPLIES_MAX)
        return NULL;
    struct supply *supply = &su->items[su->count++];
    supply->seen.interface = s->frame->interface;
    supply->seen.address = s->id.source;
    return supply;
}

static void take_voltage(struct supply *supply, double volts, int64_t now)
{
    struct dbr_supply *seen = &supply->seen;

    if (seen->lowest_v <= 0 || volts < seen->lowest_v)
        seen->lowest_v = volts;
    if (volts > seen->highest_v)
        seen->highest_v = volts;
    if (volts >= LOW_V) {
        watch_end(&supply->low, &seen->low, now, LOW_NS);
        return;
    }
    struct dbr_spell *spell = watch_hold(&supply->low, now);
    if (!(spell->low <= volts))
        spell->low = volts;
}

void supplies_value(struct supplies *su, const struct sighting *s, const struct role_value *v)
{
    if (v->role == DBR_ROLE_SUPPLY_KEY && v->status == DBR_VALUE_VALID) {
        if (v->raw != 0)
            watch_end(&s->bus->key_off, &s->bus->key_turns, s->now_ns, TURN_NS);
        else
            watch_hold(&s->bus->key_off, s->now_ns);
        /* Off for good is what matters: on again takes it back. */
        if (v->raw != 0)
            s->bus->seen.key_off_ns = -1;
        else if (s->bus->seen.key_off_ns < 0)
            s->bus->seen.key_off_ns = s->now_ns;
    }
    if (v->role != DBR_ROLE_SUPPLY_VOLTAGE || v->status != DBR_VALUE_VALID || v->si < PLAUSIBLE_V)
        return;
    struct supply *supply = find_supply(su, s);
    if (supply)
        take_voltage(supply, v->si, s->now_ns);
}

void supplies_finish(struct supplies *su, int64_t end_ns)
{
    for (size_t i = 0; i < su->count; i++)
        watch_finish(&su->items[i].low, &su->items[i].seen.low, end_ns, LOW_NS);
}
