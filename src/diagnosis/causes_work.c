/* causes_work.c - see causes_work.h. */
#include "diagnosis/causes_work.h"

#include <string.h>

/* Who is away for longer is silent (contract, ecu-silent: 3 s), and has its speed back as soon. */
#define START_NS INT64_C(5000000000)

/* An ECU that sends a little before it claims does so for so long (common practice, no source). */
#define EARLY_NS INT64_C(2000000000)

static bool is_about_source(const struct found *speed, const struct dbr_speed_source *s)
{
    return (int)s->kind == speed->kind && s->interface == speed->seen.interface &&
           s->address == speed->seen.address && (int32_t)s->pgn == speed->seen.pgn;
}

static bool is_about_implement(const struct found *work, const struct dbr_implement *i)
{
    return i->interface == work->seen.interface && i->address == work->seen.address;
}

static bool has_own_speed(const struct findings *f, const struct found *work)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *s = &f->history->sources[i];
        if (s->kind == DBR_SPEED_IMPLEMENT && s->interface == work->seen.interface &&
            s->address == work->seen.address)
            return true;
    }
    return false;
}

/* Sources that were dead for a while, and the implement put out all the same: a bit each. */
static uint64_t done_without(const struct findings *f, const struct found *work)
{
    for (size_t i = 0; i < f->history->implement_count; i++)
        if (is_about_implement(work, &f->history->implements[i]))
            return f->history->implements[i].applied_without;
    return 0;
}

bool lives_by_speed(const struct findings *f, const struct found *work, const struct found *speed)
{
    uint64_t without = done_without(f, work);

    for (size_t i = 0; i < f->history->source_count; i++)
        if ((without >> i & 1u) && is_about_source(speed, &f->history->sources[i]))
            return false;
    if (!has_own_speed(f, work))
        return true;
    return speed->kind == DBR_SPEED_IMPLEMENT && work->seen.address == speed->seen.address;
}

bool is_about_controller(const struct findings *f, const struct found *about,
                         const struct found *work)
{
    for (size_t i = 0; i < f->history->implement_count; i++) {
        const struct dbr_implement *of = &f->history->implements[i];
        if (is_about_implement(work, of) && of->controller_seen &&
            of->interface == about->seen.interface && of->controller == about->seen.address)
            return true;
    }
    return false;
}

bool is_of_implement(const struct findings *f, const struct found *found)
{
    for (size_t i = 0; i < f->history->implement_count; i++)
        if (is_about_implement(found, &f->history->implements[i]))
            return true;
    return false;
}

/* A speed is lost as its ECU goes down, and comes back with it or later; or there is no value for
 * it yet as the ECU comes back. */
static bool is_of_start(const struct dbr_spell *gone, int64_t at_ns, bool lost)
{
    if (lost)
        return gone->start_ns <= at_ns && at_ns - gone->start_ns <= START_NS &&
               (gone->open || at_ns <= gone->end_ns + EARLY_NS);
    return gone->start_ns >= at_ns - EARLY_NS && gone->start_ns <= at_ns + START_NS;
}

static bool any_start(const struct findings *f, const struct found *speed,
                      const struct dbr_spell *gone, bool lost)
{
    for (size_t i = 0; i < f->history->restart_count; i++) {
        const struct dbr_restart *r = &f->history->restarts[i];
        const struct dbr_ecu *ecu = &f->history->ecus[r->ecu];
        if (!r->with_all && ecu->interface == speed->seen.interface &&
            ecu->address == speed->seen.address && is_of_start(gone, r->at_ns, lost))
            return true;
    }
    return false;
}

bool goes_with_restarts(const struct findings *f, const struct found *speed)
{
    bool lost = strcmp(speed->seen.code, "speed-lost") == 0;
    struct dbr_spells gone = {0};

    for (size_t i = 0; i < f->history->source_count; i++)
        if (is_about_source(speed, &f->history->sources[i]))
            gone = lost ? f->history->sources[i].lost
                        : dbr_speed_went_unavailable(&f->history->sources[i]);
    for (size_t i = 0; i < gone.count; i++)
        if (!any_start(f, speed, &gone.items[i], lost))
            return false;
    return gone.count > 0;
}
