/* pauses.c - see pauses.h. */
#include "tracking/pauses.h"

/* Contract, recording-gap. */
#define PAUSE_NS NS_PER_S

/* Traffic that "never pauses" brings the next frame within a quarter of a second: the slowest
 * beat of a tractor bus is 100 ms (ISO 11783-7), and of a gap only a handful may exist. */
#define ORDINARY_NS (NS_PER_S / 4)
#define STEADY_FRAMES 100u
#define PAUSES_MAX 5u

static void take_pause(struct pauses *p, int64_t now)
{
    bool was_steady = p->steady >= STEADY_FRAMES;
    bool is_long = now - p->last_ns >= PAUSE_NS;

    p->in_doubt = was_steady && is_long;
    p->hesitations += was_steady && !is_long;
    p->latest = spell_make(p->last_ns, now);
}

void pauses_frame(struct pauses *p, int64_t now)
{
    bool closely = p->steady > 0 && now - p->last_ns < ORDINARY_NS;

    if (p->steady > 0 && !closely)
        take_pause(p, now);
    p->steady = closely ? p->steady + 1 : 1;
    p->last_ns = now;
    if (p->in_doubt && p->steady == STEADY_FRAMES) {
        p->in_doubt = false;
        spells_add(&p->flaws, &p->latest);
    }
}

bool pauses_are_flaws(const struct pauses *p)
{
    uint64_t count = p->flaws.count + p->flaws.folded;

    return count > 0 && count <= PAUSES_MAX && p->hesitations == 0;
}
