/* compare_waits.c - see compare_waits.h. */
#include "diagnosis/compare_waits.h"

#include <string.h>

static const struct {
    const char *code;
    size_t at; /* of the spells in a source */
} source_lists[] = {
    {"speed-lost", offsetof(struct dbr_speed_source, lost)},
    {"speed-error", offsetof(struct dbr_speed_source, in_error)},
    {"speed-not-available", offsetof(struct dbr_speed_source, not_available)},
    {"speed-stuck-zero", offsetof(struct dbr_speed_source, stuck_zero)},
    {"speed-frozen", offsetof(struct dbr_speed_source, frozen)},
    {"speed-erratic", offsetof(struct dbr_speed_source, erratic)},
};

static bool is_of(const struct dbr_finding *f, uint8_t interface, uint8_t address)
{
    return f->interface == interface && f->address == address;
}

static int64_t longer(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* Until the first of some spells, and from each to the next. */
static int64_t wait_for(const struct dbr_spells *spells)
{
    int64_t since = 0, longest = 0;

    for (size_t i = 0; i < spells->count; i++) {
        longest = longer(longest, spells->items[i].start_ns - since);
        since = spells->items[i].end_ns;
    }
    return longest;
}

/* A source that never worked is no matter of waiting. */
static int64_t source_wait(const struct dbr_history *h, const struct dbr_finding *f)
{
    int64_t longest = 0;

    for (size_t l = 0; l < sizeof source_lists / sizeof source_lists[0]; l++) {
        if (strcmp(f->code, source_lists[l].code) != 0)
            continue;
        for (size_t i = 0; i < h->source_count; i++) {
            const struct dbr_speed_source *s = &h->sources[i];
            const void *spells = (const char *)s + source_lists[l].at;
            if (is_of(f, s->interface, s->address) && (int32_t)s->pgn == f->pgn && s->moved)
                longest = longer(longest, wait_for(spells));
        }
    }
    return longest;
}

static int64_t restart_wait(const struct dbr_history *h, const struct dbr_finding *f)
{
    int64_t since = 0, longest = 0;

    for (size_t i = 0; i < h->restart_count; i++) {
        const struct dbr_restart *r = &h->restarts[i];
        const struct dbr_ecu *ecu = &h->ecus[r->ecu];
        if (!is_of(f, ecu->interface, ecu->address) || r->with_all)
            continue;
        longest = longer(longest, r->at_ns - since);
        since = r->at_ns;
    }
    return longest;
}

static int64_t silence_wait(const struct dbr_history *h, const struct dbr_finding *f)
{
    int64_t longest = 0;

    for (size_t i = 0; i < h->ecu_count; i++)
        if (is_of(f, h->ecus[i].interface, h->ecus[i].address))
            longest = longer(longest, wait_for(&h->ecus[i].silences));
    return longest;
}

static int64_t supply_wait(const struct dbr_history *h, const struct dbr_finding *f)
{
    int64_t longest = 0;

    for (size_t i = 0; i < h->supply_count; i++)
        if (is_of(f, h->supplies[i].interface, h->supplies[i].address))
            longest = longer(longest, wait_for(&h->supplies[i].low));
    return longest;
}

/* What happens once in a recording, whatever the machine does. */
static bool is_event(const struct dbr_finding *f)
{
    static const char *const codes[] = {"harness-section-silent", "bus-off", "bus-off-suspected",
                                        "bus-error-passive", "bus-error-burst",
                                        "controller-lost"};

    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
        if (strcmp(f->code, codes[i]) == 0)
            return true;
    return f->trouble && !f->trouble->from_start;
}

int64_t compare_wait_ns(const struct dbr_side *before, const struct dbr_finding *f)
{
    const struct dbr_history *h = before->history;

    if (!h->timed || !f->timed)
        return 0;
    if (strcmp(f->code, "ecu-restart") == 0)
        return restart_wait(h, f);
    if (strcmp(f->code, "ecu-silent") == 0)
        return silence_wait(h, f);
    if (strcmp(f->code, "supply-low") == 0)
        return supply_wait(h, f);
    return is_event(f) ? f->start_ns : source_wait(h, f);
}
