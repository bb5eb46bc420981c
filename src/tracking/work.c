/* work.c - see work.h. */
#include "tracking/work.h"

#include <string.h>

#include "tracking/spells.h"

/* Hitch and PTO status come ten times a second (ISO 11783-7); older news is no news. */
#define FRESH_NS (2 * NS_PER_S)

static enum dbr_answer answer_of(const struct role_value *v)
{
    if (v->status != DBR_VALUE_VALID)
        return DBR_ANSWER_UNKNOWN;
    return v->raw == 1   ? DBR_ANSWER_HELD
           : v->raw == 0 ? DBR_ANSWER_FAILED
                         : DBR_ANSWER_UNKNOWN;
}

/* Front and rear: one is enough, and only news of that one, or its silence, says otherwise. */
static void take_either(enum dbr_answer *answer, int64_t *at_ns, enum dbr_answer news, int64_t now)
{
    bool stale = now - *at_ns > FRESH_NS;

    if (news != DBR_ANSWER_HELD && !stale && *answer == DBR_ANSWER_HELD)
        return;
    *answer = news;
    *at_ns = now;
}

void work_value(struct work *w, const struct sighting *s, const struct role_value *v)
{
    uint8_t i = s->frame->interface;

    if (v->role == DBR_ROLE_WORK_LOWERED)
        take_either(&w->lowered[i], &w->lowered_ns[i], answer_of(v), s->now_ns);
    else if (v->role == DBR_ROLE_DRIVE_ENGAGED)
        take_either(&w->drive[i], &w->drive_ns[i], answer_of(v), s->now_ns);
    else if (v->role == DBR_ROLE_WORK_STATE)
        w->working[i][v->subject] = (uint8_t)answer_of(v);
}

void work_resume(struct work *w, uint8_t interface)
{
    memset(w->working[interface], DBR_ANSWER_UNKNOWN, sizeof w->working[interface]);
}

enum dbr_answer work_lowered(const struct work *w, uint8_t interface, int64_t now)
{
    return now - w->lowered_ns[interface] <= FRESH_NS ? w->lowered[interface]
                                                      : DBR_ANSWER_UNKNOWN;
}

enum dbr_answer work_drive(const struct work *w, uint8_t interface, int64_t now)
{
    return now - w->drive_ns[interface] <= FRESH_NS ? w->drive[interface] : DBR_ANSWER_UNKNOWN;
}

enum dbr_answer work_lowered_or_working(const struct work *w, uint8_t interface, uint8_t address,
                                        int64_t now)
{
    enum dbr_answer working = (enum dbr_answer)w->working[interface][address];
    enum dbr_answer lowered = work_lowered(w, interface, now);

    if (working == DBR_ANSWER_HELD || lowered == DBR_ANSWER_HELD)
        return DBR_ANSWER_HELD;
    return working == DBR_ANSWER_FAILED && lowered == DBR_ANSWER_FAILED ? DBR_ANSWER_FAILED
                                                                        : DBR_ANSWER_UNKNOWN;
}

enum dbr_answer work_wheel_down(const struct work *w, uint8_t interface, uint8_t address,
                                int64_t now)
{
    enum dbr_answer answer = work_lowered_or_working(w, interface, address, now);

    return answer == DBR_ANSWER_UNKNOWN && w->idle[interface][address] ? DBR_ANSWER_FAILED : answer;
}
