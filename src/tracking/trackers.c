/*
 * trackers.c - the parts of tracking in the order in which they see each frame.
 *
 * To add one: give it a header with a state struct and functions of its own, put
 * the state into struct dbr_tracking (trackers.h), add a row here, and what it
 * found to struct dbr_history. The state must have a ceiling (limits.h). Tests:
 * any batch size must give the same history (tests/unit/tracking). One that looks at
 * some groups only says so in `concerns`: most frames then cost it nothing.
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

static bool concerns_troubles(uint32_t pgn)
{
    return trouble_codes_concern(pgn) || service_orders_concern(pgn);
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

static void work_on_resume(struct dbr_tracking *t, uint8_t interface)
{
    work_resume(&t->work, interface);
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

static int64_t speeds_on_tick(struct dbr_tracking *t, int64_t now_ns)
{
    return speeds_tick(&t->speeds, now_ns);
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
    implements_frame(&t->implements, s);
}

static int64_t implements_on_tick(struct dbr_tracking *t, int64_t now_ns)
{
    struct surroundings around = surroundings_of(t);
    int64_t next = implements_tick(&t->implements, &around, now_ns);
    implements_tell_idle(&t->implements, &t->work);
    return next;
}

static void implements_on_value(struct dbr_tracking *t, const struct sighting *s,
                                const struct role_value *v)
{
    implements_value(&t->implements, &t->ecus, &t->speeds, s, v);
}

static void implements_on_resume(struct dbr_tracking *t, uint8_t interface)
{
    implements_resume(&t->implements, interface);
}

static void implements_on_finish(struct dbr_tracking *t)
{
    struct surroundings around = surroundings_of(t);
    implements_finish(&t->implements, &around, t->history.end_ns);
    working_sets_finish(&t->implements.sets, &t->ecus, &t->history);
}

static bool concerns_devices(uint32_t pgn)
{
    return pgn == DBR_PGN_PROCESS_DATA;
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

static bool concerns_identities(uint32_t pgn)
{
    return dbr_told_group_of(pgn) != DBR_TOLD_GROUPS;
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
    {.name = "troubles",
     .concerns = concerns_troubles,
     .message = troubles_on_message,
     .finish = troubles_on_finish},
    {.name = "work", .value = work_on_value, .resume = work_on_resume},
    /* after work, which it asks about the PTO */
    {.name = "activity", .value = activity_on_value, .finish = activity_on_finish},
    {.name = "devices",
     .concerns = concerns_devices,
     .message = devices_on_message,
     .transfer = devices_on_transfer,
     .finish = devices_on_finish},
    /* after addresses and devices: at the end it asks about conflicts, and for designators */
    {.name = "identities",
     .concerns = concerns_identities,
     .message = identities_on_message,
     .finish = identities_on_finish},
    /* before speeds: at the end it asks for sources as they were */
    {.name = "implements",
     .concerns = implements_concern,
     .frame = implements_on_frame,
     .tick = implements_on_tick,
     .value = implements_on_value,
     .resume = implements_on_resume,
     .finish = implements_on_finish},
    {.name = "speeds",
     .tick = speeds_on_tick,
     .value = speeds_on_value,
     .finish = speeds_on_finish},
};

const size_t tracker_count = sizeof trackers / sizeof trackers[0];

/* A bit that belongs to no tracker: a group that concerns nobody was asked about all the same. */
#define ASKED (UINT32_C(1) << 31)
_Static_assert(sizeof trackers / sizeof trackers[0] < 31, "a bit for each tracker");

uint32_t trackers_concerned(uint32_t pgn)
{
    uint32_t concerned = ASKED;

    for (size_t i = 0; i < tracker_count; i++)
        if ((trackers[i].frame || trackers[i].message) &&
            (!trackers[i].concerns || trackers[i].concerns(pgn)))
            concerned |= UINT32_C(1) << i;
    return concerned;
}

/* Takes the lowest bit out: the next tracker that is concerned. */
static const struct tracker *take_next(uint32_t *concerned)
{
    const struct tracker *next = &trackers[__builtin_ctz(*concerned)];

    *concerned &= *concerned - 1;
    return next;
}

/* Ticks go by frames: what has not reached the next one costs a comparison. */
static void tick(struct dbr_tracking *t, int64_t now_ns)
{
    t->next_tick_ns = INT64_MAX;
    for (size_t i = 0; i < tracker_count; i++) {
        int64_t next = trackers[i].tick ? trackers[i].tick(t, now_ns) : INT64_MAX;
        t->next_tick_ns = next < t->next_tick_ns ? next : t->next_tick_ns;
    }
}

void trackers_frame(struct dbr_tracking *t, const struct sighting *s, uint32_t concerned)
{
    for (concerned &= ~ASKED; concerned != 0;) {
        const struct tracker *next = take_next(&concerned);
        if (next->frame)
            next->frame(t, s);
    }
    if (s->now_ns >= t->next_tick_ns)
        tick(t, s->now_ns);
}

void trackers_message(struct dbr_tracking *t, const struct sighting *s, uint32_t concerned)
{
    for (concerned &= ~ASKED; concerned != 0;) {
        const struct tracker *next = take_next(&concerned);
        if (next->message)
            next->message(t, s);
    }
}

void trackers_value(struct dbr_tracking *t, const struct sighting *s, const struct role_value *v)
{
    for (size_t i = 0; i < tracker_count; i++)
        if (trackers[i].value)
            trackers[i].value(t, s, v);
}

void trackers_resume(struct dbr_tracking *t, uint8_t interface)
{
    for (size_t i = 0; i < tracker_count; i++)
        if (trackers[i].resume)
            trackers[i].resume(t, interface);
}

bool trackers_out_of_memory(const struct dbr_tracking *t)
{
    return t->streams.out_of_memory || t->ecus.out_of_memory || t->identities.out_of_memory ||
           t->devices.out_of_memory || t->speeds.ratios.out_of_memory ||
           dbr_transport_counts(t->transport)->out_of_memory;
}
