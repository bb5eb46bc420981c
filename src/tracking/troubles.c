/* troubles.c - see troubles.h. */
#include "tracking/troubles.h"

void troubles_message(struct troubles *t, const struct sighting *s)
{
    trouble_codes_message(&t->codes, s);
    service_orders_message(&t->orders, s);
}

void troubles_finish(struct troubles *t, const struct ecus *ecus,
                     const struct dbr_definitions *definitions, struct dbr_history *history)
{
    trouble_codes_finish(&t->codes, ecus, definitions, history->timed);
    service_orders_finish(&t->orders, history->end_ns, history->timed);
    for (size_t i = 0; i < t->codes.count; i++)
        t->seen_codes[i] = t->codes.items[i].seen;
    for (size_t i = 0; i < t->codes.sender_count; i++)
        t->seen_senders[i] = t->codes.senders[i].seen;
    for (size_t i = 0; i < t->orders.stop_count; i++)
        t->seen_stops[i] = t->orders.stops[i].seen;
    history->troubles = (struct dbr_troubles){.count = t->codes.count,
                                              .sender_count = t->codes.sender_count,
                                              .clear_count = t->orders.clear_count,
                                              .stop_count = t->orders.stop_count,
                                              .items = t->seen_codes,
                                              .senders = t->seen_senders,
                                              .clears = t->orders.clears,
                                              .stops = t->seen_stops,
                                              .beyond = t->codes.beyond + t->orders.beyond};
    history->events_dropped += history->troubles.beyond;
}
