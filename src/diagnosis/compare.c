/* compare.c - see drawbar/compare.h. */
#include "drawbar/compare.h"

#include <stdlib.h>
#include <string.h>

/* Contract: sources are compared over 20 s; what takes longer to show needs as much. */
#define LONG_ENOUGH_NS INT64_C(20000000000)

/* Contract: stuck at zero, rate and coverage show after 5 s. */
#define SHOWS_NS INT64_C(5000000000)

const char *dbr_change_name(enum dbr_change change)
{
    static const char *const names[] = {"gone", "still", "new", "cannot_tell"};
    return (unsigned)change <= DBR_CHANGE_CANNOT_TELL ? names[change] : "unknown";
}

/* Functions, instances and classes of a NAME, ISO 11783-5: without who made it, and its number. */
static uint64_t task_of(uint64_t name)
{
    return name >> 32;
}

/*
 * One ECU in both recordings: the same NAME, or another piece of hardware put in its
 * place (same address, same task); without NAMEs the same address.
 */
static bool same_ecu(const struct dbr_ecu *a, const struct dbr_ecu *b)
{
    if (a->name_count == 0 || b->name_count == 0)
        return a->address == b->address;
    uint64_t x = a->names[a->name_count - 1], y = b->names[b->name_count - 1];
    return x == y || (a->address == b->address && task_of(x) == task_of(y));
}

/* Whom a finding is about: an address, -1 for none, and its ECU where one was heard. */
struct place {
    int address;
    const struct dbr_ecu *ecu; /* or NULL */
};

static struct place place_at(const struct dbr_side *side, int interface, int address)
{
    bool known = interface >= 0 && address >= 0;

    return (struct place){address, known ? dbr_history_ecu(side->history, (uint8_t)interface,
                                                           (uint8_t)address) : NULL};
}

static struct place place_of(const struct dbr_side *side, const struct dbr_finding *f)
{
    return place_at(side, f->interface, f->address);
}

static bool same_place(struct place a, struct place b)
{
    return a.ecu && b.ecu ? same_ecu(a.ecu, b.ecu) : a.address == b.address;
}

/* One that has no address of its own may be about several: a section of the harness. */
static size_t member_count(const struct dbr_finding *f)
{
    return f->address < 0 && f->address_count > 0 ? f->address_count : 1;
}

static struct place member(const struct dbr_side *side, const struct dbr_finding *f, size_t i)
{
    bool several = f->address < 0 && f->address_count > 0;

    return place_at(side, f->interface, several ? f->addresses[i] : f->address);
}

static bool share_member(const struct dbr_side *sa, const struct dbr_finding *a,
                         const struct dbr_side *sb, const struct dbr_finding *b)
{
    for (size_t i = 0; i < member_count(a); i++)
        for (size_t k = 0; k < member_count(b); k++)
            if (same_place(member(sa, a, i), member(sb, b, k)))
                return true;
    return false;
}

/* Two trouble codes of one ECU are two findings; how their layout is told belongs to them. */
static bool same_trouble(const struct dbr_trouble *a, const struct dbr_trouble *b)
{
    return a->code.spn == b->code.spn && a->code.fmi == b->code.fmi &&
           a->code.older_layout == b->code.older_layout;
}

static bool same_finding(const struct dbr_side *sa, const struct dbr_finding *a,
                         const struct dbr_side *sb, const struct dbr_finding *b)
{
    if (strcmp(a->code, b->code) != 0 || a->pgn != b->pgn ||
        (a->trouble && !same_trouble(a->trouble, b->trouble)))
        return false;
    return share_member(sa, a, sb, b);
}

static bool matters(const struct dbr_finding *f)
{
    return f->severity > DBR_NOTE;
}

static const struct dbr_finding *find_same(const struct dbr_side *in, const struct dbr_side *of,
                                           const struct dbr_finding *f)
{
    for (size_t i = 0; i < in->diagnosis->finding_count; i++) {
        const struct dbr_finding *other = &in->diagnosis->findings[i];
        if (matters(other) && same_finding(of, f, in, other))
            return other;
    }
    return NULL;
}

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

/* Whether an address of the recording after is what a finding of before was about. */
static bool is_it(const struct dbr_side *before, const struct dbr_side *after,
                  const struct dbr_finding *f, uint8_t interface, uint8_t address)
{
    return same_place(place_of(before, f), place_at(after, interface, address));
}

static bool is_in(const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < h->ecu_count; i++)
        if (same_ecu(ecu, &h->ecus[i]))
            return true;
    return false;
}

/* Every ECU that a finding of before was about is in the recording after. */
static bool ecus_present(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    for (size_t i = 0; i < member_count(f); i++) {
        struct place one = member(before, f, i);
        if (one.ecu && !is_in(after->history, one.ecu))
            return false;
    }
    return true;
}

/* Its sender goes on with the group that a finding of before was about. */
static bool group_sent(const struct dbr_side *before, const struct dbr_side *after,
                       const struct dbr_finding *f)
{
    for (size_t i = 0; i < after->history->stream_count; i++) {
        const struct dbr_stream *s = &after->history->streams[i];
        if ((int32_t)s->pgn == f->pgn && is_it(before, after, f, s->interface, s->address))
            return true;
    }
    return false;
}

/* The source of speed, by its group and sender, sends a value that moves. */
static bool source_lives(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    for (size_t i = 0; i < after->history->source_count; i++) {
        const struct dbr_speed_source *s = &after->history->sources[i];
        if ((int32_t)s->pgn == f->pgn && s->moved &&
            is_it(before, after, f, s->interface, s->address))
            return true;
    }
    return false;
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
            is_it(before, after, f, flow->interface, flow->source))
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
        if (d->activated && is_it(before, after, f, d->interface, d->address))
            return true;
    }
    return false;
}

static const char *never_worked(const struct dbr_history *h)
{
    return held_ns(h, DBR_LINK_WORKING) < SHOWS_NS || held_ns(h, DBR_LINK_SETPOINT) < SHOWS_NS
               ? "the implement never worked in the recording after" : NULL;
}

/* Why the recording after, which holds its ECU, cannot tell what became of one thing; NULL: it
 * can. */
static const char *not_shown(const struct dbr_side *before, const struct dbr_side *after,
                             const struct dbr_finding *f)
{
    bool about_group = starts_with(f->code, "supply-") || starts_with(f->code, "message-");
    bool about_work = starts_with(f->code, "rate-") || starts_with(f->code, "coverage-");
    bool about_motion = starts_with(f->code, "speed-") || starts_with(f->code, "distance-") ||
                        starts_with(f->code, "direction-");

    if (starts_with(f->code, "description-") && !description_taken(before, after, f))
        return "its description was not activated in the recording after";
    if (starts_with(f->code, "transfer-") && !came_through(before, after, f))
        return "this message was not sent whole in the recording after";
    if (about_group && !group_sent(before, after, f))
        return "this message was not sent in the recording after";
    if ((about_motion || about_work) && !dbr_history_moved(after->history))
        return "the machine never drove in the recording after";
    if (about_motion && f->address >= 0 && !source_lives(before, after, f))
        return "this source never reports motion in the recording after";
    if (f->trouble && !f->trouble->from_start && dbr_history_moved(before->history) &&
        !dbr_history_moved(after->history))
        return "the code came up during a drive, and the machine never drove in the recording after";
    return about_work ? never_worked(after->history) : NULL;
}

/* Why the recording after cannot tell that a finding is gone; NULL: it can. */
static const char *cannot_tell(const struct dbr_side *before, const struct dbr_side *after,
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

static void add_row(struct dbr_comparison *c, enum dbr_change change,
                    const struct dbr_finding *before, const struct dbr_finding *after,
                    const char *why)
{
    const struct dbr_finding *f = before ? before : after;

    c->rows[c->row_count++] = (struct dbr_comparison_row){change, before, after, why};
    if (f->severity == DBR_FAULT && change != DBR_CHANGE_GONE)
        c->repaired = false;
}

static void compare_findings(struct dbr_comparison *c)
{
    for (size_t i = 0; i < c->before.diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &c->before.diagnosis->findings[i];
        if (!matters(f))
            continue;
        const struct dbr_finding *still = find_same(&c->after, &c->before, f);
        const char *why = still ? NULL : cannot_tell(&c->before, &c->after, f);
        add_row(c, still ? DBR_CHANGE_STILL : why ? DBR_CHANGE_CANNOT_TELL : DBR_CHANGE_GONE, f,
                still, why);
    }
    for (size_t i = 0; i < c->after.diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &c->after.diagnosis->findings[i];
        if (matters(f) && !find_same(&c->before, &c->after, f))
            add_row(c, DBR_CHANGE_NEW, NULL, f, NULL);
    }
}

struct dbr_comparison *dbr_comparison_new(const struct dbr_side *before,
                                          const struct dbr_side *after, struct dbr_error *error)
{
    size_t room = before->diagnosis->finding_count + after->diagnosis->finding_count + 1;
    struct dbr_comparison *c = calloc(1, sizeof *c);
    struct dbr_comparison_row *rows = calloc(room, sizeof *rows);

    if (!c || !rows) {
        free(c);
        free(rows);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    *c = (struct dbr_comparison){.before = *before, .after = *after, .rows = rows,
                                 .repaired = true};
    compare_findings(c);
    return c;
}

void dbr_comparison_free(struct dbr_comparison *c)
{
    if (!c)
        return;
    free(c->rows);
    free(c);
}
