/* compare_shown.c - see compare_shown.h. */
#include "diagnosis/compare_shown.h"

#include <string.h>

#include "diagnosis/compare_claims.h"
#include "diagnosis/compare_places.h"
#include "diagnosis/compare_waits.h"
#include "diagnosis/rules.h"

/* Contract: sources are compared over 20 s; what takes longer to show needs as much. */
#define LONG_ENOUGH_NS INT64_C(20000000000)

/* Contract: stuck at zero, rate and coverage show after 5 s. */
#define SHOWS_NS INT64_C(5000000000)

/* Contract, direction-disagrees. */
#define DIRECTION_S 2.0

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

/* How long a link held, of the implement that has most of it. */
static int64_t held_ns(const struct dbr_history *h, enum dbr_link link)
{
    int64_t most = 0;

    for (size_t i = 0; i < h->implement_count; i++) {
        int64_t held = dbr_link_time_ns(&h->implements[i].links[link], DBR_ANSWER_HELD);
        most = held > most ? held : most;
    }
    return most;
}

static bool is_in(const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < h->ecu_count; i++)
        if (place_same_ecu(ecu, &h->ecus[i]))
            return true;
    return false;
}

/* Every ECU that a finding of before was about is in the recording after. */
static bool ecus_present(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    for (size_t i = 0; i < place_members(f); i++) {
        struct place one = place_member(before, f, i);
        if (one.ecu && !is_in(after->history, one.ecu))
            return false;
    }
    return true;
}

/* Its sender goes on with the group that a finding of before was about. */
static bool any_stream(const struct dbr_side *before, const struct dbr_side *after,
                       const struct dbr_finding *f, bool (*is)(const struct dbr_stream *))
{
    for (size_t i = 0; i < after->history->stream_count; i++) {
        const struct dbr_stream *s = &after->history->streams[i];
        if ((int32_t)s->pgn == f->pgn && is(s) &&
            place_is_it(before, after, f, s->interface, s->address))
            return true;
    }
    return false;
}

static bool is_sent(const struct dbr_stream *stream)
{
    return stream->frames > 0;
}

static bool group_sent(const struct dbr_side *before, const struct dbr_side *after,
                       const struct dbr_finding *f)
{
    return any_stream(before, after, f, is_sent);
}

static bool beat_judged(const struct dbr_side *before, const struct dbr_side *after,
                        const struct dbr_finding *f)
{
    return any_stream(before, after, f, rule_judges_gaps);
}

/* Whether a source of speed, by its group and sender, is like that in the recording after. */
static bool any_source(const struct dbr_side *before, const struct dbr_side *after,
                       const struct dbr_finding *f, bool (*is)(const struct dbr_speed_source *))
{
    for (size_t i = 0; i < after->history->source_count; i++) {
        const struct dbr_speed_source *s = &after->history->sources[i];
        if ((int32_t)s->pgn == f->pgn && is(s) &&
            place_is_it(before, after, f, s->interface, s->address))
            return true;
    }
    return false;
}

static bool moves(const struct dbr_speed_source *source)
{
    return source->moved;
}

static bool ends_on_one_value(const struct dbr_speed_source *source)
{
    return source->one_value;
}

static bool counts(const struct dbr_speed_source *source)
{
    return source->distances_compared > 0;
}

static bool tells_directions(const struct dbr_speed_source *source)
{
    return source->directions_compared_s >= DIRECTION_S;
}

/* A finding about no source may be shown by any. */
static bool source_lives(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    return f->address < 0 || any_source(before, after, f, moves);
}

static bool scale_judged(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    return any_source(before, after, f, rule_judges_scale);
}

static bool value_changes(const struct dbr_side *before, const struct dbr_side *after,
                          const struct dbr_finding *f)
{
    return !any_source(before, after, f, ends_on_one_value);
}

static bool distance_judged(const struct dbr_side *before, const struct dbr_side *after,
                            const struct dbr_finding *f)
{
    return any_source(before, after, f, counts);
}

static bool direction_judged(const struct dbr_side *before, const struct dbr_side *after,
                             const struct dbr_finding *f)
{
    return any_source(before, after, f, tells_directions);
}

/* Whether a message in several frames that failed before came through after; true for failures
 * that are no such message (grants that nobody asked for, refusals of many). */
static bool came_through(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    const struct dbr_transfers *b = &before->history->transfers, *a = &after->history->transfers;
    bool is_message = false;

    for (size_t i = 0; i < b->failure_count; i++)
        is_message |= (int32_t)b->failures[i].first.pgn == f->pgn &&
                      b->failures[i].first.source == f->address;
    for (size_t i = 0; i < a->flow_count; i++) {
        const struct dbr_transfer_flow *flow = &a->flows[i];
        if ((int32_t)flow->pgn == f->pgn && flow->complete > 0 &&
            place_is_it(before, after, f, flow->interface, flow->source))
            return true;
    }
    return !is_message;
}

/* A description that was refused before is in force after. */
static bool description_taken(const struct dbr_side *before, const struct dbr_side *after,
                              const struct dbr_finding *f)
{
    for (size_t i = 0; i < after->history->device_count; i++) {
        const struct dbr_device_story *d = &after->history->devices[i];
        if (d->activated && place_is_it(before, after, f, d->interface, d->address))
            return true;
    }
    return false;
}

static bool machine_moved(const struct dbr_side *before, const struct dbr_side *after,
                          const struct dbr_finding *f)
{
    (void)before;
    (void)f;
    return dbr_history_moved(after->history);
}

static bool implement_worked(const struct dbr_side *before, const struct dbr_side *after,
                             const struct dbr_finding *f)
{
    (void)before;
    (void)f;
    return held_ns(after->history, DBR_LINK_WORKING) >= SHOWS_NS &&
           held_ns(after->history, DBR_LINK_SETPOINT) >= SHOWS_NS;
}

/* The implement of a finding, in the recording of the finding and in the one after. */
static const struct dbr_implement *implement_before(const struct dbr_side *before,
                                                    const struct dbr_finding *f)
{
    for (size_t i = 0; i < before->history->implement_count; i++) {
        const struct dbr_implement *one = &before->history->implements[i];
        if (one->interface == f->interface && one->address == f->address)
            return one;
    }
    return NULL;
}

static const struct dbr_implement *implement_after(const struct dbr_side *before,
                                                   const struct dbr_side *after,
                                                   const struct dbr_finding *f)
{
    for (size_t i = 0; i < after->history->implement_count; i++) {
        const struct dbr_implement *one = &after->history->implements[i];
        if (place_is_it(before, after, f, one->interface, one->address))
            return one;
    }
    return NULL;
}

static bool element_puts_out(const struct dbr_implement *implement, uint16_t number)
{
    for (size_t e = 0; e < implement->element_count; e++)
        if (implement->elements[e] == number)
            return (implement->rate_shown >> e & 1u) != 0;
    return false;
}

/* Each element that lacked its rate before was asked for one after, and told it. */
static bool rate_told(const struct dbr_side *before, const struct dbr_side *after,
                      const struct dbr_finding *f)
{
    const struct dbr_implement *b = implement_before(before, f);
    const struct dbr_implement *a = implement_after(before, after, f);
    uint64_t lacked = 0;

    for (size_t i = 0; b && i < b->rate_missing.count; i++)
        lacked |= b->rate_missing.items[i].mask;
    for (size_t e = 0; b && e < b->element_count; e++)
        if ((lacked >> e & 1u) && !(a && element_puts_out(a, b->elements[e])))
            return false;
    return true;
}

static bool work_state_on(const struct dbr_side *before, const struct dbr_side *after,
                          const struct dbr_finding *f)
{
    const struct dbr_implement *a = implement_after(before, after, f);

    return a && dbr_link_time_ns(&a->links[DBR_LINK_COVERAGE], DBR_ANSWER_HELD) >= SHOWS_NS;
}

/* A code that came up in a drive needs one to come up again. */
static bool code_may_come(const struct dbr_side *before, const struct dbr_side *after,
                          const struct dbr_finding *f)
{
    return !f->trouble || f->trouble->from_start || !dbr_history_moved(before->history) ||
           dbr_history_moved(after->history);
}

/* Whether the recording after tells if the ECU of the rig that was missing is there. */
static bool told_of(const struct dbr_side *before, const struct dbr_side *after,
                    const struct dbr_finding *f)
{
    const struct dbr_lines *untold = &after->diagnosis->untold;

    (void)before;
    for (size_t i = 0; i < untold->count; i++)
        if (strcmp(untold->items[i], f->missing) == 0)
            return false;
    return true;
}

static bool long_enough(const struct dbr_side *before, const struct dbr_side *after,
                        const struct dbr_finding *f)
{
    return after->history->end_ns >= compare_wait_ns(before, f);
}

#define NOT_SENT "this message was not sent in the recording after"
#define NEVER_DROVE "the machine never drove in the recording after"
#define NO_MOTION "this source never reports motion in the recording after"
#define NEVER_WORKED "the implement never worked in the recording after"
#define NO_CLAIM "not all that were concerned claim an address in the recording after"

/* What findings whose code begins so need, to show again. */
static const struct {
    const char *codes;
    bool (*shown)(const struct dbr_side *before, const struct dbr_side *after,
                  const struct dbr_finding *f);
    const char *why; /* it is not */
} needs[] = {
    {"description-", description_taken, "its description was not activated in the recording after"},
    {"transfer-", came_through, "this message was not sent whole in the recording after"},
    {"supply-", group_sent, NOT_SENT},
    {"message-", group_sent, NOT_SENT},
    {"message-gaps", beat_judged, "the recording after shows no beat of this message"},
    {"speed-", machine_moved, NEVER_DROVE},
    {"distance-", machine_moved, NEVER_DROVE},
    {"direction-", machine_moved, NEVER_DROVE},
    {"rate-", machine_moved, NEVER_DROVE},
    {"coverage-", machine_moved, NEVER_DROVE},
    {"speed-", source_lives, NO_MOTION},
    {"distance-", source_lives, NO_MOTION},
    {"direction-", source_lives, NO_MOTION},
    {"speed-disagrees", scale_judged,
     "this source moved with no other for 20 s in the recording after"},
    {"speed-frozen", value_changes,
     "this source ends on one value, and the recording after does not tell whether it is frozen"},
    {"distance-", distance_judged,
     "this source counted less than 50 m in one go in the recording after"},
    {"direction-", direction_judged,
     "no other source told a direction for 2 s in the recording after"},
    {"rate-", implement_worked, NEVER_WORKED},
    {"coverage-", implement_worked, NEVER_WORKED},
    {"rate-", rate_told, "the recording after does not show that it puts out what it is asked to"},
    {"coverage-", work_state_on, "its work state was never on in the recording after"},
    {"address-", claims_seen, NO_CLAIM},
    {"name-", claims_seen, NO_CLAIM},
    {"ecu-missing", told_of,
     "the claims that tell who is on the bus are not in the recording after"},
    {"fault-code-", code_may_come,
     "the code came up during a drive, and the machine never drove in the recording after"},
    {"", long_enough, "the recording after is shorter than it took to show before"},
};

/* Why the recording after, which holds its ECU, cannot tell what became of one thing; NULL: it
 * can. */
static const char *not_shown(const struct dbr_side *before, const struct dbr_side *after,
                             const struct dbr_finding *f)
{
    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++)
        if (starts_with(f->code, needs[i].codes) && !needs[i].shown(before, after, f))
            return needs[i].why;
    return NULL;
}

/* Why the recording after cannot tell that a finding is gone; NULL: it can. */
const char *compare_cannot_tell(const struct dbr_side *before, const struct dbr_side *after,
                               const struct dbr_finding *f)
{
    const struct dbr_history *h = after->history;

    if (starts_with(f->code, "recording-"))
        return NULL;
    if (!h->timed)
        return "the recording after has no time stamps";
    if (starts_with(f->code, "bus-load"))
        return NULL;
    if (starts_with(f->code, "bus-") && !dbr_history_has_error_frames(h))
        return "the recording after holds no error frames";
    if (h->end_ns < LONG_ENOUGH_NS)
        return "the recording after is too short";
    if (!ecus_present(before, after, f))
        return "the ECU is not in the recording after";
    return not_shown(before, after, f);
}
