/* silences.c - see silences.h. */
#include "diagnosis/silences.h"

#include <math.h>
#include <stdlib.h>

#include "drawbar/can_id.h"

/* Contract, harness-section-silent: within 0.5 s. When within its usual interval an ECU died
 * cannot be known: that interval comes on top, up to two seconds. */
#define TOGETHER_NS INT64_C(500000000)
#define INTERVAL_MAX_S 2.0

struct silence {
    const struct dbr_ecu *ecu;
    const struct dbr_spell *spell;
};

static int64_t slack(const struct dbr_ecu *ecu)
{
    return (int64_t)(fmin(ecu->mean_interval_s, INTERVAL_MAX_S) * 1e9);
}

bool silence_is_shutdown(const struct findings *f, const struct dbr_ecu *ecu,
                         const struct dbr_spell *silence)
{
    int64_t off_ns = f->history->buses[ecu->interface].switched_off_ns;
    return silence->open && off_ns >= 0 && silence->start_ns + slack(ecu) >= off_ns;
}

/* An ECU takes some seconds to send again (common practice, no source). */
#define RETURN_NS INT64_C(5000000000)

const struct dbr_broadcast_stop *silence_order(const struct findings *f,
                                               const struct dbr_ecu *ecu,
                                               const struct dbr_spell *silence)
{
    const struct dbr_troubles *t = &f->history->troubles;

    for (size_t i = 0; i < t->stop_count; i++) {
        const struct dbr_broadcast_stop *stop = &t->stops[i];
        bool asked = stop->interface == ecu->interface && stop->requester != ecu->address &&
                     (stop->address == ecu->address || stop->address == DBR_ADDRESS_GLOBAL);
        bool began = silence->start_ns + slack(ecu) >= stop->start_ns &&
                     silence->start_ns <= stop->end_ns;
        if (asked && began && (stop->open || silence->end_ns <= stop->end_ns + RETURN_NS))
            return stop;
    }
    return NULL;
}

static int by_start(const void *x, const void *y)
{
    const struct silence *a = x, *b = y;

    if (a->ecu->interface != b->ecu->interface)
        return a->ecu->interface < b->ecu->interface ? -1 : 1;
    return (a->spell->start_ns > b->spell->start_ns) - (a->spell->start_ns < b->spell->start_ns);
}

static size_t collect(const struct findings *f, struct silence *out)
{
    size_t count = 0;

    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        for (size_t j = 0; j < ecu->silences.count; j++)
            if (!silence_is_shutdown(f, ecu, &ecu->silences.items[j]) &&
                !silence_order(f, ecu, &ecu->silences.items[j]))
                out[count++] = (struct silence){ecu, &ecu->silences.items[j]};
    }
    qsort(out, count, sizeof *out, by_start);
    return count;
}

static void add_to_group(struct silence_group *g, const struct silence *s)
{
    if (g->count == SILENCE_GROUP_MAX)
        return;
    g->ecus[g->count] = s->ecu;
    g->spells[g->count++] = s->spell;
    g->open = g->open || s->spell->open;
    if (s->spell->end_ns > g->end_ns)
        g->end_ns = s->spell->end_ns;
}

static bool belongs(const struct silence_group *g, const struct silence *s)
{
    int64_t apart = s->spell->start_ns - g->start_ns;
    int64_t play = slack(s->ecu) > slack(g->ecus[0]) ? slack(s->ecu) : slack(g->ecus[0]);
    return s->ecu->interface == g->interface && apart <= TOGETHER_NS + play;
}

void silences_visit(struct findings *f, const struct rule *rule,
                    void (*visit)(struct findings *f, const struct rule *rule,
                                  const struct silence_group *group))
{
    size_t room = 1;

    for (size_t i = 0; i < f->history->ecu_count; i++)
        room += f->history->ecus[i].silences.count;
    struct silence *silences = calloc(room, sizeof *silences);
    if (!silences) {
        f->failed = true;
        return;
    }
    size_t count = collect(f, silences);
    for (size_t i = 0; i < count;) {
        struct silence_group g = {.interface = silences[i].ecu->interface,
                                  .start_ns = silences[i].spell->start_ns,
                                  .end_ns = silences[i].spell->end_ns};
        add_to_group(&g, &silences[i++]);
        while (i < count && belongs(&g, &silences[i]))
            add_to_group(&g, &silences[i++]);
        visit(f, rule, &g);
    }
    free(silences);
}
