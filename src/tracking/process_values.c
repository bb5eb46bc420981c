/* process_values.c - process data, told to the trackers as values of whom they are about. */
#include "drawbar/process_data.h"
#include "tracking/process_roles.h"
#include "tracking/trackers.h"

static void tell_process_data(struct dbr_tracking *t, const struct sighting *s,
                              struct role_value *v)
{
    bool by_controller =
        implements_is_controller(&t->implements, s->frame->interface, s->id.source);
    v->subject = by_controller ? s->id.destination : s->id.source;
    trackers_value(t, s, v);
}

void process_values_message(struct dbr_tracking *t, const struct sighting *s)
{
    struct dbr_process_data data;
    struct role_value v;

    if (!dbr_process_data_read(&data, s->data, s->length) || !process_role(&data, &v))
        return;
    if (!implements_know_controller(&t->implements, s->frame->interface) &&
        early_setpoints_keep(&t->early_setpoints, s, v.role))
        return;
    tell_process_data(t, s, &v);
}

/* As if they came now. */
static void tell_early_setpoints(struct dbr_tracking *t, uint8_t interface)
{
    struct dbr_frame frame;
    struct dbr_process_data data;
    struct role_value v;

    while (early_setpoints_take(&t->early_setpoints, interface, &frame)) {
        struct sighting s = {.frame = &frame,
                             .now_ns = t->history.end_ns,
                             .id = dbr_can_id_split(frame.id),
                             .data = frame.data,
                             .length = frame.length,
                             .bus = &t->buses[interface]};
        s.ecu = ecus_find(&t->ecus, interface, s.id.source);
        s.stream = streams_find(&t->streams, interface, frame.id, frame.at_ns);
        if (dbr_process_data_read(&data, s.data, s.length) && process_role(&data, &v))
            tell_process_data(t, &s, &v);
    }
}

void process_values_wait(struct dbr_tracking *t, const struct bus *bus, uint8_t interface)
{
    if (t->early_setpoints.count > 0 &&
        (implements_know_controller(&t->implements, interface) || early_setpoints_are_over(bus)))
        tell_early_setpoints(t, interface);
}

void process_values_finish(struct dbr_tracking *t)
{
    for (uint8_t i = 0; i < DBR_INTERFACES_MAX; i++)
        tell_early_setpoints(t, i);
}
