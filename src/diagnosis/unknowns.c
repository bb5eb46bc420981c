/* unknowns.c - see unknowns.h. Never turn "not seen" into "fine". */
#include "diagnosis/unknowns.h"

#include <stdlib.h>

#include "diagnosis/rules_rig.h"
#include "diagnosis/wording.h"

/* Shorter than this a recording holds no drive (contract: sources are compared for 20 s). */
#define SHORT_NS INT64_C(20000000000)

/* Contract, ecu-silent: after 10 frames, 3 s and ten times the mean interval. */
#define ENDED_FRAMES 10u
#define ENDED_NS INT64_C(3000000000)

static bool any_name(const struct findings *f)
{
    for (size_t i = 0; i < f->history->ecu_count; i++)
        if (f->history->ecus[i].name_count > 0)
            return true;
    return false;
}

static bool any_implement(const struct findings *f)
{
    for (size_t i = 0; i < f->history->ecu_count; i++)
        if (dbr_ecu_is_implement(&f->history->ecus[i]))
            return true;
    return false;
}

static const char *no_stamps(struct findings *f)
{
    if (f->history->timed)
        return NULL;
    return "without time stamps nothing can be said about when, how often and how long";
}

static const char *no_error_frames(struct findings *f)
{
    if (dbr_history_has_error_frames(f->history))
        return NULL;
    return "without error frames faults on the wires (bus-off, bad termination) leave no trace";
}

static const char *no_motion(struct findings *f)
{
    if (f->history->source_count == 0)
        return "no message that carries a speed was seen, so nothing is known about ground speed";
    if (dbr_history_moved(f->history))
        return NULL;
    return "no source reports motion, so a dead speed sensor would look the same as standing still";
}

static const char *no_names(struct findings *f)
{
    if (any_name(f))
        return NULL;
    return "no address claim was seen, so who is who is only guessed by address; record from "
           "key-on";
}

#define RIG_LABELS 3u /* of ECUs that are told one by one */

/* Labels of the first, and how many more. */
static const char *first_labels(struct findings *f, const struct dbr_lines *all)
{
    const char *text = "";

    for (size_t i = 0; i < all->count && i < RIG_LABELS; i++)
        text = findings_text(f, "%s%s%.60s", text, i == 0 ? "" : ", ", all->items[i]);
    return all->count <= RIG_LABELS
               ? text : findings_text(f, "%s and %zu more", text, all->count - RIG_LABELS);
}

/* Whom the rig knows by NAME alone: of fewer strangers than such ECUs, not all can be there. */
static const char *rig_by_name(struct findings *f)
{
    struct dbr_lines untold = unknowns_untold(f);
    size_t strangers = rig_strangers(f), needed = 0;
    const char *text = NULL;

    for (size_t i = 0; f->rig && i < f->rig->ecu_count; i++)
        needed += rig_untold(f, i) && !f->rig->ecus[i].optional;
    if (untold.count > 0)
        text = findings_text(f, "the rig knows %s by NAME alone, and the claims of %zu ECU%s that "
                                "send%s are not here: whether the rig's are there is not known%s",
                             first_labels(f, &untold), strangers, strangers == 1 ? "" : "s",
                             strangers == 1 ? "s" : "",
                             needed > strangers ? ", only that not all of them are" : "");
    free((void *)untold.items);
    return text;
}

static const char *no_implement(struct findings *f)
{
    if (!any_name(f) || any_implement(f))
        return NULL;
    return "no implement claimed an address here, so nothing can be said about one";
}

static const char *too_short(struct findings *f)
{
    if (!f->history->timed || f->history->end_ns >= SHORT_NS)
        return NULL;
    return findings_text(f, "%.1f s are too short to compare speed sources and to see slow faults",
                         (double)f->history->end_ns / 1e9);
}

/* What all ECUs do at the end is taken for the key, where no message tells of it. */
static const char *no_key(struct findings *f)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (bus->switched_off_ns >= 0 && bus->key_off_ns < 0)
            return findings_text(f, "no message tells of the key: that ECUs fall silent one after "
                                    "the other from %s on is taken for switching off",
                                 word_time(f, bus->switched_off_ns));
    }
    return NULL;
}

/* As an ECU that falls silent (contract, ecu-silent); there is no bus left on which it could. */
static bool ended_early(const struct dbr_history *h, const struct dbr_bus *bus)
{
    int64_t silent_ns = h->end_ns - bus->last_ns, life_ns = bus->last_ns - bus->first_ns;

    return bus->frames >= ENDED_FRAMES && bus->switched_off_ns < 0 && silent_ns >= ENDED_NS &&
           silent_ns >= 10 * (life_ns / (int64_t)bus->frames);
}

static const char *dead_bus(struct findings *f)
{
    const struct dbr_history *h = f->history;

    for (size_t i = 0; h->timed && i < h->bus_count; i++)
        if (ended_early(h, &h->buses[i]))
            return findings_text(f, "nothing was recorded%s from %s on while the recording went "
                                    "on: its ECUs may have lost their power, or the recorder its "
                                    "connection",
                                 word_where(f, (int)i), word_time(f, h->buses[i].last_ns));
    return NULL;
}

static const char *waiting(struct findings *f)
{
    if (f->history->waiting_count == 0)
        return NULL;
    return findings_text(f, "a definition waits for a NAME that was never claimed: group %u, %.80s "
                            "(%.60s)", f->history->waiting[0]->pgn, f->history->waiting[0]->name,
                         f->history->waiting[0]->file);
}

static const char *beyond_ceiling(struct findings *f)
{
    if (f->history->not_tracked == 0 && f->history->events_dropped == 0 && f->dropped == 0)
        return NULL;
    return findings_text(f, "more senders, groups, claims or findings than are kept: %llu frames, "
                            "%llu events and %llu findings are counted only",
                         (unsigned long long)f->history->not_tracked,
                         (unsigned long long)f->history->events_dropped,
                         (unsigned long long)f->dropped);
}

static const char *lossy_transfers(struct findings *f)
{
    unsigned long long lacking = f->history->transfers.unrecorded;

    if (lacking == 0)
        return NULL;
    return findings_text(f, "the recorder lost frames: %llu messages in several frames were "
                            "acknowledged by their receiver, yet not all of their packets are here",
                         lacking);
}

static const char *transfers_beyond(struct findings *f)
{
    const struct dbr_transfers *t = &f->history->transfers;
    unsigned long long open = t->counts.refused, large = t->counts.without_data;
    unsigned long long kinds = t->flows_beyond + t->failures_beyond + t->strays_beyond;

    if (open + large + kinds == 0)
        return NULL;
    return findings_text(f, "more messages in several frames than are followed: %llu at once, %llu "
                            "too large to look into, %llu of too many kinds",
                         open, large, kinds);
}

/* Who of the rig is there is known of all. */
static bool rig_told(const struct findings *f)
{
    for (size_t i = 0; f->rig && i < f->rig->ecu_count; i++)
        if (rig_untold(f, i))
            return false;
    return true;
}

static const char *from_key_on(struct findings *f)
{
    return any_name(f) && rig_told(f) ? NULL : "start the recorder before the key is turned on";
}

static const char *with_error_frames(struct findings *f)
{
    return dbr_history_has_error_frames(f->history) ? NULL : "switch error frames on in the recorder";
}

static bool any_work(const struct findings *f)
{
    for (size_t i = 0; i < f->history->implement_count; i++)
        if (dbr_link_time_ns(&f->history->implements[i].links[DBR_LINK_WORKING],
                             DBR_ANSWER_HELD) > 0)
            return true;
    return false;
}

static const char *while_working(struct findings *f)
{
    if (dbr_history_moved(f->history) && (any_work(f) || !any_implement(f)))
        return NULL;
    return "drive for a minute above walking pace, with the implement working";
}

static const char *long_enough(struct findings *f)
{
    if (f->history->timed && f->history->end_ns >= SHORT_NS)
        return NULL;
    return "record for a minute at least, with time stamps";
}

static const char *mark_moment(struct findings *f)
{
    (void)f;
    return "write down the time at which the trouble shows";
}

typedef const char *ask(struct findings *f);

static struct dbr_lines collect(struct findings *f, ask *const *asks, size_t count)
{
    struct dbr_lines lines = {0, calloc(count, sizeof(const char *))};

    if (!lines.items) {
        f->failed = true;
        return lines;
    }
    for (size_t i = 0; i < count; i++) {
        const char *text = asks[i](f);
        if (text)
            lines.items[lines.count++] = text;
    }
    return lines;
}

struct dbr_lines unknowns_list(struct findings *f)
{
    static ask *const asks[] = {no_stamps, too_short,       no_names, rig_by_name, no_implement,
                                no_motion, no_error_frames, waiting,  beyond_ceiling,
                                lossy_transfers, transfers_beyond, no_key, dead_bus};
    return collect(f, asks, sizeof asks / sizeof asks[0]);
}

struct dbr_lines unknowns_untold(struct findings *f)
{
    struct dbr_lines lines = {0, calloc(DBR_RIG_ECUS_MAX, sizeof(const char *))};

    f->failed = f->failed || !lines.items;
    for (size_t i = 0; lines.items && f->rig && i < f->rig->ecu_count; i++)
        if (rig_untold(f, i))
            lines.items[lines.count++] = findings_text(f, "%s", f->rig->ecus[i].label);
    return lines;
}

struct dbr_lines unknowns_advice(struct findings *f)
{
    static ask *const asks[] = {from_key_on, with_error_frames, while_working, long_enough,
                                mark_moment};
    struct dbr_lines lines = collect(f, asks, sizeof asks / sizeof asks[0]);

    /* with nothing else to ask for, the last one alone is no advice */
    if (lines.count == 1)
        lines.count = 0;
    return lines;
}
