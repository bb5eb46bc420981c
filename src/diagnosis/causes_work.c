/* causes_work.c - see causes_work.h. */
#include "diagnosis/causes_work.h"

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
