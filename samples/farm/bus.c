/* bus.c - see bus.h. */
#include "farm/bus.h"

#include "farm/bits.h"

/*
 * A disturbed frame: the sender reads back a wrong bit early in the data field
 * (39 bits before it), then come its error flag of 6, the flags of the others of
 * up to 6, and the error delimiter of 8 bits (ISO 11898-1).
 */
#define DISTURBED_BITS (39 + 8 + 6 + 6 + 8)

void farm_bus_send(struct farm_bus *bus, int sender, const struct farm_frame *frame,
                   int64_t ready_ns)
{
    if (bus->count == FARM_WAITING_MAX) {
        bus->overflowed = true;
        return;
    }
    bus->waiting[bus->count++] = (struct farm_waiting){
        .frame = *frame, .sender = sender, .ready_ns = ready_ns, .order = bus->sent++};
}

static void take_out(struct farm_bus *bus, size_t index)
{
    bus->waiting[index] = bus->waiting[--bus->count];
}

void farm_bus_forget(struct farm_bus *bus, int sender)
{
    for (size_t i = bus->count; i-- > 0;)
        if (bus->waiting[i].sender == sender)
            take_out(bus, i);
}

/* When the next frame can begin; false where nothing waits. */
static bool next_start(const struct farm_bus *bus, int64_t *start_ns)
{
    if (bus->count == 0)
        return false;
    int64_t earliest = bus->waiting[0].ready_ns;
    for (size_t i = 1; i < bus->count; i++)
        if (bus->waiting[i].ready_ns < earliest)
            earliest = bus->waiting[i].ready_ns;
    *start_ns = earliest > bus->idle_ns ? earliest : bus->idle_ns;
    return true;
}

static bool goes_before(const struct farm_waiting *a, const struct farm_waiting *b)
{
    return a->frame.id != b->frame.id ? a->frame.id < b->frame.id : a->order < b->order;
}

static size_t arbitrate(const struct farm_bus *bus, int64_t start_ns)
{
    size_t winner = bus->count;

    for (size_t i = 0; i < bus->count; i++) {
        const struct farm_waiting *w = &bus->waiting[i];
        if (w->ready_ns <= start_ns &&
            (winner == bus->count || goes_before(w, &bus->waiting[winner])))
            winner = i;
    }
    return winner;
}

bool farm_bus_next(struct farm_bus *bus, int64_t until_ns, struct farm_transfer *out)
{
    int64_t start_ns;

    if (!next_start(bus, &start_ns) || start_ns >= until_ns)
        return false;
    size_t winner = arbitrate(bus, start_ns);
    const struct farm_waiting *w = &bus->waiting[winner];
    bool failed = w->sender == bus->disturbed_sender;
    int bits = failed ? DISTURBED_BITS : farm_frame_bits(&w->frame);
    *out = (struct farm_transfer){.frame = w->frame,
                                  .sender = w->sender,
                                  .start_ns = start_ns,
                                  .end_ns = start_ns + bits * FARM_BIT_NS,
                                  .failed = failed};
    bus->idle_ns = out->end_ns + FARM_INTERMISSION_BITS * FARM_BIT_NS;
    if (!failed)
        take_out(bus, winner);
    return true;
}
