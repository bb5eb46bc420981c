/* contests.c - two users of one address: who they are, who wins, and what the loser does. */
#include <string.h>

#include "tracking/addresses_internal.h"

/* A user of the address that was heard so lately is there (ISO 11783 heartbeats are 5 s at most). */
#define PRESENT_NS (5 * NS_PER_S)

/* Contract: the user of an address gives it up with cannot-claim within 0.5 s. */
#define GIVE_UP_NS (NS_PER_S / 2)

/* Contract, address-shared: both go on for a second and more. */
#define SHARED_NS NS_PER_S

/* As long must the bus go on before "it sends no more" can be said. */
#define SILENT_AFTER_NS (3 * NS_PER_S)

/* Two senders with the same groups send nearly twice as often as one (jitter and loss aside). */
#define TWO_SENDERS_RATE 1.6

bool contests_touch(const struct addresses *a, const struct sighting *s)
{
    for (size_t i = 0; i < a->contest_count; i++)
        if (a->contests[i].ecu == s->ecu && s->now_ns - a->contests[i].seen.at_ns <= PRESENT_NS)
            return true;
    return false;
}

/* The contest of the address of `ecu` that a claim or frame now belongs to: the latest. */
static struct contest *find_contest(struct addresses *a, const struct ecu *ecu)
{
    for (size_t i = a->contest_count; i-- > 0;)
        if (a->contests[i].ecu == ecu)
            return &a->contests[i];
    return NULL;
}

static struct contest *new_contest(struct addresses *a)
{
    if (a->contest_count == CONTESTS_MAX) {
        a->dropped++;
        return NULL;
    }
    struct contest *c = &a->contests[a->contest_count++];
    memset(c, 0, sizeof *c);
    return c;
}

void contest_begin(struct addresses *a, const struct sighting *s, uint64_t name)
{
    const struct dbr_ecu *ecu = &s->ecu->seen;
    bool named = ecu->name_count > 0;
    uint64_t incumbent = named ? ecu->names[ecu->name_count - 1] : 0;
    struct contest *c = find_contest(a, s->ecu);

    /* The two go on claiming against each other: one contest. */
    if (c && ((c->seen.incumbent == name && c->seen.newcomer == incumbent) ||
              c->seen.newcomer == name)) {
        c->seen.claims++;
        return;
    }
    if (named) {
        const struct holder *h = addresses_holder(a, ecu->interface, incumbent);
        if (h && h->address != ecu->address)
            return; /* it had moved on: the address was free */
    }
    c = new_contest(a);
    if (!c)
        return;
    c->present = s->ecu->previous_ns >= 0 && s->now_ns - s->ecu->previous_ns <= PRESENT_NS;
    c->certain = named && c->present;
    c->ecu = s->ecu;
    c->frames_before = ecu->frames - ecu->claims - 1;
    c->active_before_ns = s->ecu->active_ns;
    c->seen = (struct dbr_conflict){.interface = ecu->interface,
                                    .address = ecu->address,
                                    .at_ns = s->now_ns,
                                    .incumbent_named = named,
                                    .incumbent = incumbent,
                                    .newcomer = name,
                                    .newcomer_wins = !named || name < incumbent,
                                    .shared_from_ns = -1,
                                    .claims = 2};
}

static uint64_t loser_of(const struct contest *c)
{
    return c->seen.newcomer_wins ? c->seen.incumbent : c->seen.newcomer;
}

static void settle(struct contest *c, enum dbr_loser_outcome outcome, int64_t at_ns)
{
    c->certain = true;
    c->seen.outcome = outcome;
    c->seen.outcome_at_ns = at_ns;
}

/* The unnamed user shows its NAME by what it answers. */
static void name_incumbent(struct contest *c, uint64_t name)
{
    c->seen.incumbent_named = true;
    c->seen.incumbent = name;
    c->seen.newcomer_wins = c->seen.newcomer < name;
}

/* The incumbent claims against a newcomer that is there. One that was away and did not answer may
 * have been put back in the place of the newcomer. */
static bool defends(const struct contest *c, const struct sighting *s, uint64_t name)
{
    return name == c->seen.incumbent && s->now_ns - s->ecu->previous_ns <= PRESENT_NS;
}

static void take_answer(struct contest *c, const struct sighting *s, uint64_t name, bool asked)
{
    int64_t delay = s->now_ns - c->seen.at_ns;
    bool from_null = s->id.source == DBR_ADDRESS_NULL;
    bool party = name == c->seen.incumbent || name == c->seen.newcomer;

    if (!c->seen.incumbent_named && name != c->seen.newcomer) {
        bool gives_up = from_null && delay <= GIVE_UP_NS && !asked;
        bool fights_back = s->ecu == c->ecu && delay <= ANSWER_NS;
        if (!gives_up && !fights_back)
            return;
        name_incumbent(c, name);
        c->certain = true;
        party = true;
    }
    if (!party || !c->seen.incumbent_named)
        return;
    if (s->ecu == c->ecu) {
        c->certain = c->certain || defends(c, s, name);
        return;
    }
    if (name != loser_of(c) || c->seen.outcome != DBR_LOSER_UNKNOWN)
        return;
    settle(c, from_null ? DBR_LOSER_CANNOT_CLAIM : DBR_LOSER_MOVED, s->now_ns);
    c->seen.moved_to = s->id.source;
}

void contests_claim(struct addresses *a, const struct sighting *s, uint64_t name, bool asked)
{
    for (size_t i = 0; i < a->contest_count; i++)
        if (a->contests[i].seen.interface == s->frame->interface)
            take_answer(&a->contests[i], s, name, asked);
}

void contests_frame(struct addresses *a, const struct sighting *s)
{
    struct contest *c = find_contest(a, s->ecu);

    if (!c || !s->stream || s->now_ns - c->seen.at_ns < ANSWER_NS)
        return;
    if (s->stream->seen.first_ns < c->seen.at_ns) {
        if (c->old_frames++ == 0)
            c->old_first_ns = s->now_ns;
        c->old_last_ns = s->now_ns;
    } else {
        if (c->new_frames++ == 0)
            c->new_first_ns = s->now_ns;
        c->new_last_ns = s->now_ns;
    }
}

/* After the contest both parties are heard: old groups beside new ones, or twice as many frames. */
static bool both_go_on(const struct contest *c)
{
    int64_t old_span = c->old_last_ns - c->old_first_ns;

    if (c->old_frames < 2 || old_span < SHARED_NS || c->frames_before == 0)
        return false;
    if (c->new_frames >= 2 && c->new_last_ns - c->new_first_ns >= SHARED_NS)
        return true;
    return c->active_before_ns >= SHARED_NS &&
           (double)c->old_frames / (double)old_span >=
               TWO_SENDERS_RATE * (double)c->frames_before / (double)c->active_before_ns;
}

/*
 * Whoever has to give way is heard no more: the incumbent's groups ended with the contest, or the
 * newcomer's never came, or nobody had more to send than the claim.
 */
static bool loser_fell_silent(const struct contest *c)
{
    if (c->frames_before == 0)
        return c->certain;
    if (c->seen.newcomer_wins)
        return c->present && c->old_frames == 0;
    return c->certain && c->new_frames == 0;
}

static void infer_outcome(struct contest *c, const struct bus *bus)
{
    bool long_enough = bus->last_traffic_ns - c->seen.at_ns >= ANSWER_NS + SILENT_AFTER_NS;

    if (both_go_on(c)) {
        c->certain = c->certain || c->seen.incumbent_named;
        c->seen.shared_from_ns = c->seen.at_ns;
        c->seen.outcome = DBR_LOSER_STAYED;
    } else if (c->seen.outcome == DBR_LOSER_UNKNOWN && long_enough && loser_fell_silent(c)) {
        settle(c, DBR_LOSER_SILENT, c->seen.at_ns);
    }
}

static void publish(struct addresses *a, struct contest *c)
{
    c->seen.loser_had_worked = c->seen.newcomer_wins && c->frames_before > 0;
    a->conflicts[a->conflict_count++] = c->seen;
}

void contests_finish(struct addresses *a, const struct bus *buses)
{
    for (size_t i = 0; i < a->contest_count; i++) {
        struct contest *c = &a->contests[i];
        infer_outcome(c, &buses[c->seen.interface]);
        if (c->certain)
            publish(a, c);
        else if (!c->seen.incumbent_named)
            addresses_add_restart(a, c->ecu, c->seen.at_ns);
    }
}
