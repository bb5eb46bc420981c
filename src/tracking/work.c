/* work.c - see work.h. */
#include "tracking/work.h"

#include "tracking/spells.h"

/* Hitch status comes ten times a second (ISO 11783-7); older news is no news. */
#define HITCH_FRESH_NS (2 * NS_PER_S)

static enum answer answer_of(const struct role_value *v)
{
    if (v->status != DBR_VALUE_VALID)
        return ANSWER_UNKNOWN;
    return v->raw == 1 ? ANSWER_YES : v->raw == 0 ? ANSWER_NO : ANSWER_UNKNOWN;
}

void work_value(struct work *w, const struct sighting *s, const struct role_value *v)
{
    uint8_t interface = s->frame->interface;

    if (v->role == DBR_ROLE_WORK_LOWERED) {
        /* Front and rear hitch: one in work is enough, and only news of it says otherwise. */
        bool stale = s->now_ns - w->lowered_ns[interface] > HITCH_FRESH_NS;
        if (answer_of(v) == ANSWER_YES || stale || w->lowered[interface] != ANSWER_YES) {
            w->lowered[interface] = answer_of(v);
            w->lowered_ns[interface] = s->now_ns;
        }
    } else if (v->role == DBR_ROLE_WORK_STATE) {
        w->working[interface][s->id.source] = (uint8_t)answer_of(v);
    }
}

enum answer work_lowered_or_working(const struct work *w, uint8_t interface, uint8_t address,
                                    int64_t now)
{
    enum answer working = (enum answer)w->working[interface][address];
    enum answer lowered = now - w->lowered_ns[interface] <= HITCH_FRESH_NS
                              ? w->lowered[interface]
                              : ANSWER_UNKNOWN;

    if (working == ANSWER_YES || lowered == ANSWER_YES)
        return ANSWER_YES;
    return working == ANSWER_NO && lowered == ANSWER_NO ? ANSWER_NO : ANSWER_UNKNOWN;
}
