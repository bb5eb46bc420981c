/* pauses.c - see pauses.h. */
#include "tracking/pauses.h"

/* Contract, recording-gap. */
#define PAUSE_NS NS_PER_S

/* A bus that "never pauses" brings the next frame within a quarter of a second: the slowest
 * beat of a tractor bus is 100 ms (ISO 11783-7), and of a gap only a handful may exist. */
#define ORDINARY_NS (NS_PER_S / 4)
#define INTERVALS_MIN 100u
#define PAUSES_MAX 5u

void pauses_frame(struct pauses *p, int64_t now)
{
    int64_t pause = now - p->last_ns;

    if (p->any) {
        p->intervals++;
        p->ordinary += pause < ORDINARY_NS;
        if (pause >= PAUSE_NS) {
            struct dbr_spell spell = spell_make(p->last_ns, now);
            spells_add(&p->long_ones, &spell);
        }
    }
    p->any = true;
    p->last_ns = now;
}

bool pauses_are_flaws(const struct pauses *p)
{
    uint64_t count = p->long_ones.count + p->long_ones.folded;

    return count > 0 && count <= PAUSES_MAX && p->intervals >= INTERVALS_MIN &&
           p->ordinary + count == p->intervals;
}
