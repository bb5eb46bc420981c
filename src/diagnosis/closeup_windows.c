/* closeup_windows.c - which moments of a diagnosis deserve a close look. */
#include "drawbar/closeup.h"
#include "drawbar/diagnosis.h"

#define AROUND_NS INT64_C(10000000000) /* contract of the page: ten seconds to either side */

static struct dbr_closeup_window window_of(const struct dbr_finding *f, size_t index, bool at_end)
{
    bool ends_near = !f->open && f->end_ns <= f->start_ns + 2 * AROUND_NS;
    int64_t moment = at_end ? f->end_ns : f->start_ns;

    return (struct dbr_closeup_window){
        .finding = index,
        .at_end = at_end,
        .moment_ns = moment,
        .start_ns = moment - AROUND_NS,
        .end_ns = (!at_end && ends_near ? f->end_ns : moment) + AROUND_NS,
        .interface = f->interface,
        .address = f->address,
        .pgn = f->pgn};
}

static bool ends_apart(const struct dbr_finding *f)
{
    return !f->open && f->end_ns > f->start_ns + 2 * AROUND_NS;
}

static bool is_root(const struct dbr_verdict *v, size_t index)
{
    for (size_t i = 0; i < v->root_cause_count; i++)
        if (v->root_causes[i] == index)
            return true;
    return false;
}

size_t dbr_closeup_windows(const struct dbr_diagnosis *d, struct dbr_closeup_window *windows,
                           size_t room)
{
    const struct dbr_verdict *v = &d->verdict;
    size_t count = 0;

    for (size_t i = 0; i < v->root_cause_count && count < room; i++)
        if (d->findings[v->root_causes[i]].timed)
            windows[count++] = window_of(&d->findings[v->root_causes[i]], v->root_causes[i], false);
    for (size_t i = 0; i < v->root_cause_count && count < room; i++) {
        const struct dbr_finding *f = &d->findings[v->root_causes[i]];
        if (f->timed && ends_apart(f))
            windows[count++] = window_of(f, v->root_causes[i], true);
    }
    for (size_t i = 0; i < d->finding_count && count < room; i++) {
        const struct dbr_finding *f = &d->findings[i];
        if (f->timed && f->severity > DBR_NOTE && !is_root(v, i))
            windows[count++] = window_of(f, i, false);
    }
    return count;
}
