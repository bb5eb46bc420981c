/*
 * trackers.c - the parts of tracking in the order in which they see each frame.
 *
 * To add one: give it a header with a state struct and functions of its own, put
 * the state into struct dbr_tracking (trackers.h), add a row here, and what it
 * found to struct dbr_history. The state must have a ceiling (limits.h). Tests:
 * any batch size must give the same history (tests/unit/tracking).
 */
#include "tracking/trackers.h"

static void addresses_on_frame(struct dbr_tracking *t, const struct sighting *s)
{
    addresses_frame(t->addresses, s);
}

static void addresses_on_finish(struct dbr_tracking *t)
{
    addresses_finish(t->addresses, &t->ecus, t->buses, &t->history);
}

static void supplies_on_value(struct dbr_tracking *t, const struct sighting *s,
                              const struct role_value *v)
{
    supplies_value(&t->supplies, s, v);
}

static void supplies_on_finish(struct dbr_tracking *t)
{
    supplies_finish(&t->supplies, t->history.end_ns);
}

static void troubles_on_message(struct dbr_tracking *t, const struct sighting *s)
{
    troubles_message(&t->troubles, s);
}

static void troubles_on_finish(struct dbr_tracking *t)
{
    troubles_finish(&t->troubles, &t->ecus, t->definitions, &t->history);
}

static void work_on_value(struct dbr_tracking *t, const struct sighting *s,
                          const struct role_value *v)
{
    work_value(&t->work, s, v);
}

static void activity_on_value(struct dbr_tracking *t, const struct sighting *s,
                              const struct role_value *v)
{
    activity_value(&t->activity, &t->work, s, v);
}

static void activity_on_finish(struct dbr_tracking *t)
{
    activity_finish(&t->activity, t->buses, t->history.end_ns);
}

static void speeds_on_frame(struct dbr_tracking *t, const struct sighting *s)
{
    speeds_tick(&t->speeds, s->now_ns);
}

static void speeds_on_value(struct dbr_tracking *t, const struct sighting *s,
                            const struct role_value *v)
{
    speeds_value(&t->speeds, s, v);
}

static void speeds_on_finish(struct dbr_tracking *t)
{
    speeds_finish(&t->speeds, &t->history);
}

static struct surroundings surroundings_of(const struct dbr_tracking *t)
{
    return (struct surroundings){t->buses, &t->ecus, &t->speeds, &t->work, &t->devices};
}

static void implements_on_frame(struct dbr_tracking *t, const struct sighting *s)
{
    struct surroundings around = surroundings_of(t);

    implements_frame(&t->implements, s);
    implements_tick(&t->implements, &around, s->now_ns);
}

static void implements_on_value(struct dbr_tracking *t, const struct sighting *s,
                                const struct role_value *v)
{
    implements_value(&t->implements, &t->ecus, s, v);
}

static void implements_on_finish(struct dbr_tracking *t)
{
    struct surroundings around = surroundings_of(t);
    implements_finish(&t->implements, &around, t->history.end_ns);
    working_sets_finish(&t->implements.sets, &t->ecus, &t->history);
}

static void devices_on_message(struct dbr_tracking *t, const struct sighting *s)
{
    devices_message(&t->devices, &t->ecus, s,
                    implements_is_controller(&t->implements, s->frame->interface, s->id.source));
}

static void devices_on_transfer(struct dbr_tracking *t, const struct dbr_transfer *transfer)
{
    devices_transfer(&t->devices, &t->ecus, transfer,
                     implements_is_controller(&t->implements, transfer->interface,
                                              transfer->source));
}

/* Where memory ran out dbr_tracking_finish says so. */
static void devices_on_finish(struct dbr_tracking *t)
{
    devices_finish(&t->devices, &t->ecus);
}

static void identities_on_message(struct dbr_tracking *t, const struct sighting *s)
{
    identities_message(&t->identities, s);
}

static void identities_on_finish(struct dbr_tracking *t)
{
    for (size_t i = 0; i < t->ecus.count; i++) {
        const struct ecu *ecu = t->ecus.items[i];
        const struct dbr_device *device = devices_description(
            &t->devices, &t->ecus, ecu->seen.interface, ecu->seen.address);
        if (device && device->described)
            identities_designate(&t->identities, ecu, device->designator);
    }
    identities_finish(&t->identities, &t->ecus, &t->history);
}

static void transfers_on_transfer(struct dbr_tracking *t, const struct dbr_transfer *transfer)
{
    transfers_ended(&t->transfers, transfer);
}

const struct tracker trackers[] = {
    {.name = "transfers", .transfer = transfers_on_transfer},
    {.name = "addresses", .frame = addresses_on_frame, .finish = addresses_on_finish},
    {.name = "supplies", .value = supplies_on_value, .finish = supplies_on_finish},
    {.name = "troubles", .message = troubles_on_message, .finish = troubles_on_finish},
    {.name = "work", .value = work_on_value},
    /* after work, which it asks about the PTO */
    {.name = "activity", .value = activity_on_value, .finish = activity_on_finish},
    {.name = "devices",
     .message = devices_on_message,
     .transfer = devices_on_transfer,
     .finish = devices_on_finish},
    /* after addresses and devices: at the end it asks about conflicts, and for designators */
    {.name = "identities", .message = identities_on_message, .finish = identities_on_finish},
    /* before speeds: at the end it asks for sources as they were */
    {.name = "implements",
     .frame = implements_on_frame,
     .value = implements_on_value,
     .finish = implements_on_finish},
    {.name = "speeds",
     .frame = speeds_on_frame,
     .value = speeds_on_value,
     .finish = speeds_on_finish},
};

const size_t tracker_count = sizeof trackers / sizeof trackers[0];
