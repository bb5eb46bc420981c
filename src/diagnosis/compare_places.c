/* compare_places.c - see compare_places.h. */
#include "diagnosis/compare_places.h"

/* Functions, instances and classes of a NAME (ISO 11783-5), without who made it and its number. */
static uint64_t task_of(uint64_t name)
{
    return name >> 32;
}

/*
 * One ECU in both recordings: the same NAME, or another piece of hardware put in its
 * place (same address, same task); without NAMEs the same address.
 */
bool place_same_ecu(const struct dbr_ecu *a, const struct dbr_ecu *b)
{
    if (a->name_count == 0 || b->name_count == 0)
        return a->address == b->address;
    uint64_t x = a->names[a->name_count - 1], y = b->names[b->name_count - 1];
    return x == y || (a->address == b->address && task_of(x) == task_of(y));
}

struct place place_at(const struct dbr_side *side, int interface, int address)
{
    bool known = interface >= 0 && address >= 0;

    return (struct place){address, known ? dbr_history_ecu(side->history, (uint8_t)interface,
                                                           (uint8_t)address) : NULL};
}

struct place place_of(const struct dbr_side *side, const struct dbr_finding *f)
{
    return place_at(side, f->interface, f->address);
}

bool place_same(struct place a, struct place b)
{
    return a.ecu && b.ecu ? place_same_ecu(a.ecu, b.ecu) : a.address == b.address;
}

size_t place_members(const struct dbr_finding *f)
{
    return f->address < 0 && f->address_count > 0 ? f->address_count : 1;
}

struct place place_member(const struct dbr_side *side, const struct dbr_finding *f, size_t i)
{
    bool several = f->address < 0 && f->address_count > 0;

    return place_at(side, f->interface, several ? f->addresses[i] : f->address);
}

bool place_is_it(const struct dbr_side *before, const struct dbr_side *after,
                 const struct dbr_finding *f, uint8_t interface, uint8_t address)
{
    return place_same(place_of(before, f), place_at(after, interface, address));
}
