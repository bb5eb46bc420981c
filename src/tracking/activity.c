/* activity.c - see activity.h. */
#include "tracking/activity.h"

#include <math.h>

#define PGN_FRONT_HITCH 65094u /* ISO 11783-7 */

/* Five steps of SPN 1873 (0.4 %): more than the noise of a position sensor, common practice. */
#define STEP_PERCENT 2.0
#define REST_NS NS_PER_S

static void take_position(struct hitch *h, struct dbr_spells *moves, double percent, int64_t now)
{
    if (!h->told) {
        h->told = true;
        h->position = percent;
    } else if (fabs(percent - h->position) >= STEP_PERCENT) {
        watch_hold(&h->moves, now);
        h->position = percent;
        h->moved_ns = now;
    } else if (now - h->moved_ns > REST_NS) {
        watch_end(&h->moves, moves, h->moved_ns, 0);
    }
}

void activity_value(struct activity *a, const struct work *w, const struct sighting *s,
                    const struct role_value *v)
{
    uint8_t i = s->frame->interface;
    struct dbr_bus *bus = &s->bus->seen;

    if (v->role == DBR_ROLE_HITCH_POSITION && v->status == DBR_VALUE_VALID)
        take_position(&a->hitches[i][s->id.pgn == PGN_FRONT_HITCH], &bus->hitch_moves, v->si,
                      s->now_ns);
    if (v->role != DBR_ROLE_DRIVE_ENGAGED)
        return;
    if (work_drive(w, i, s->now_ns) == DBR_ANSWER_HELD)
        watch_hold(&a->drive[i], s->now_ns);
    else
        watch_end(&a->drive[i], &bus->drive_engaged, s->now_ns, 0);
}

void activity_finish(struct activity *a, struct bus *buses, int64_t end_ns)
{
    for (size_t i = 0; i < DBR_INTERFACES_MAX; i++) {
        watch_finish(&a->drive[i], &buses[i].seen.drive_engaged, end_ns, 0);
        for (size_t h = 0; h < 2; h++)
            watch_finish(&a->hitches[i][h].moves, &buses[i].seen.hitch_moves, end_ns, 0);
    }
}
