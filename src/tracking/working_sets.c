/* working_sets.c - see working_sets.h. */
#include "tracking/working_sets.h"

#include "drawbar/name.h"

/* J1939-71: a byte above FA is no count. */
#define COUNT_MAX 0xFAu

static struct dbr_working_set *set_of(struct working_sets *w, const struct sighting *s)
{
    for (size_t i = 0; i < w->count; i++)
        if (w->sets[i].interface == s->frame->interface && w->sets[i].master == s->id.source)
            return &w->sets[i];
    if (w->count == DBR_WORKING_SETS_MAX) {
        w->beyond++;
        return NULL;
    }
    struct dbr_working_set *set = &w->sets[w->count++];
    *set = (struct dbr_working_set){
        .interface = s->frame->interface, .master = s->id.source, .announced = -1};
    return set;
}

static void take_member(struct working_sets *w, const struct sighting *s)
{
    uint64_t name = dbr_name_from_bytes(s->frame->data);

    if (!set_of(w, s))
        return;
    for (size_t i = 0; i < w->member_count; i++)
        if (w->members[i].name == name && w->members[i].interface == s->frame->interface) {
            w->members[i].master = s->id.source;
            return;
        }
    if (w->member_count == DBR_MEMBERS_MAX) {
        w->beyond++;
        return;
    }
    w->members[w->member_count++] = (struct dbr_member){
        .interface = s->frame->interface, .master = s->id.source, .name = name, .address = -1};
}

void working_sets_frame(struct working_sets *w, const struct sighting *s)
{
    if (s->id.pgn == PGN_WORKING_SET_MEMBER) {
        take_member(w, s);
    } else if (s->id.pgn == PGN_WORKING_SET_MASTER) {
        struct dbr_working_set *set = set_of(w, s);
        if (set && s->frame->data[0] <= COUNT_MAX)
            set->announced = s->frame->data[0];
    }
}

int working_sets_master(const struct working_sets *w, uint8_t interface, uint64_t name)
{
    for (size_t i = 0; i < w->member_count; i++)
        if (w->members[i].interface == interface && w->members[i].name == name)
            return w->members[i].master;
    return -1;
}

/* Where a NAME was last heard; -1: it never claimed. */
static int address_of(const struct ecus *ecus, uint8_t interface, uint64_t name)
{
    const struct dbr_ecu *last = NULL;

    for (size_t i = 0; i < ecus->count; i++) {
        const struct dbr_ecu *ecu = &ecus->items[i]->seen;
        if (ecu->interface == interface && ecu->name_count > 0 &&
            ecu->names[ecu->name_count - 1] == name && (!last || ecu->last_ns > last->last_ns))
            last = ecu;
    }
    return last ? last->address : -1;
}

void working_sets_finish(struct working_sets *w, const struct ecus *ecus,
                         struct dbr_history *history)
{
    for (size_t i = 0; i < w->member_count; i++)
        w->members[i].address =
            (int16_t)address_of(ecus, w->members[i].interface, w->members[i].name);
    history->working_set_count = w->count;
    history->working_sets = w->sets;
    history->member_count = w->member_count;
    history->members = w->members;
}
