/*
 * rules_transfer.c - messages in several frames that fail, and grants that nobody asked for.
 *
 * One finding for each originator, receiver, message and way to fail. Where one ECU refuses
 * many originators, it is one finding about that ECU. What the recorder may have lost is
 * said to be so; what it surely lost (the receiver acknowledged it) is no failure.
 */
#include "diagnosis/rules.h"
#include "diagnosis/transfer_words.h"
#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

/* From so many originators on, the one that refuses them is whom the finding is about. */
#define REFUSED_ORIGINATORS 3u

/* A receiver asks for the same packets again twice at most (SAE J1939-21 5.10.3.2, from memory). */
#define SAME_GRANTS 3u

#define TIMEOUT_REASON 3u /* abort reasons, SAE J1939-21 table 7 */
#define RETRY_REASON 5u

/* The same two, and the same message, in the same direction. */
static bool goes_with(const struct dbr_stray_control *a, const struct dbr_stray_control *b)
{
    return a->interface == b->interface && a->source == b->source &&
           a->destination == b->destination && a->pgn == b->pgn && a->extended == b->extended;
}

/*
 * The same grant again and again, and never an acknowledgement. Grants whose requests the
 * recording lacks go forward, or, of several short messages, end with one each.
 */
static bool is_made_up(const struct dbr_transfers *all, const struct dbr_stray_flow *s)
{
    if (s->same_again < SAME_GRANTS)
        return false;
    for (size_t i = 0; i < all->stray_count; i++)
        if (goes_with(&all->strays[i].first, &s->first) &&
            (all->strays[i].first.control == 19 || all->strays[i].first.control == 23))
            return false;
    return true;
}

static void about(struct found *found, const struct dbr_transfer *t, int address)
{
    found_about(found, t->interface, address, (int32_t)t->pgn);
    found->waited_in_vain = t->end == DBR_TRANSFER_TIMED_OUT ||
                            (t->end == DBR_TRANSFER_ABORTED && (t->abort_reason == TIMEOUT_REASON ||
                                                                t->abort_reason == RETRY_REASON));
    if (t->destination != DBR_ADDRESS_GLOBAL && address == t->source)
        found_address(found, t->destination);
}

/* All of them before the receiver was first heard: it had not started yet, and that is usual. One
 * whose first word is that it refuses has. */
static bool before_receiver(const struct findings *f, const struct dbr_failed_transfers *failed)
{
    const struct dbr_ecu *receiver =
        dbr_history_ecu(f->history, failed->first.interface, failed->first.destination);
    return f->history->timed && receiver && receiver->first_ns > failed->ended_ns;
}

static void judge_failure(struct findings *f, const struct rule *rule,
                          const struct dbr_failed_transfers *failed)
{
    const struct dbr_transfer *t = &failed->first;
    struct found *found = findings_add(f, rule);

    about(found, t, t->source);
    found_between(found, failed->first_ns, failed->ended_ns, false);
    found->seen.count = failed->count;
    found_title(f, found, "%s", word_transfer_failure(f, failed));
    tell_transfer_failure(f, found, failed);
    if (!before_receiver(f, failed))
        return;
    found->seen.severity = DBR_NOTE;
    found_evidence(f, found, "%s was first heard after that: it had not started yet",
                   word_receiver(f, t));
}

static bool refused_alike(const struct dbr_failed_transfers *a,
                          const struct dbr_failed_transfers *b)
{
    return transfer_is_refusal(a) && transfer_is_refusal(b) && a->first.interface == b->first.interface &&
           a->first.destination == b->first.destination &&
           a->first.abort_reason == b->first.abort_reason;
}

/* All refusals like one, put together. */
struct refusals {
    uint64_t count;
    size_t originators;
    uint8_t seen[256 / 8]; /* a bit for each */
    bool one_group;
    int64_t from_ns, to_ns, longest_ns;
};

static bool has_asked(const struct refusals *sum, unsigned address)
{
    return (unsigned)sum->seen[address / 8] >> address % 8 & 1u;
}

static void add_refusal(struct refusals *sum, const struct dbr_failed_transfers *failed,
                        uint32_t pgn)
{
    const struct dbr_transfer *t = &failed->first;
    uint8_t bit = (uint8_t)(1u << t->source % 8);
    int64_t took = t->end_ns - t->start_ns;

    if (!has_asked(sum, t->source))
        sum->originators++;
    sum->seen[t->source / 8] |= bit;
    sum->one_group &= t->pgn == pgn;
    sum->count += failed->count;
    if (failed->first_ns < sum->from_ns)
        sum->from_ns = failed->first_ns;
    if (failed->ended_ns > sum->to_ns)
        sum->to_ns = failed->ended_ns;
    if (took > sum->longest_ns)
        sum->longest_ns = took;
}

static struct refusals sum_refusals(const struct dbr_transfers *all,
                                    const struct dbr_failed_transfers *like)
{
    struct refusals sum = {.one_group = true, .from_ns = INT64_MAX};

    for (size_t i = 0; i < all->failure_count; i++)
        if (refused_alike(&all->failures[i], like))
            add_refusal(&sum, &all->failures[i], like->first.pgn);
    return sum;
}

/* How many of the originators did nothing before the first of these requests, or never claimed. */
static void tell_originators(struct findings *f, struct found *found, const struct refusals *sum,
                             uint8_t interface)
{
    size_t unheard = 0, unnamed = 0, claimed = 0;

    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        bool is_originator = has_asked(sum, ecu->address);
        if (ecu->interface != interface)
            continue;
        claimed += ecu->name_count > 0;
        unheard += is_originator && ecu->first_ns >= sum->from_ns;
        unnamed += is_originator && ecu->name_count == 0;
    }
    if (f->history->timed)
        found_evidence(f, found, "%zu of these addresses were never heard before that", unheard);
    if (claimed > 0)
        found_evidence(f, found, "%zu of them never claimed, as others did: requests from "
                                 "addresses that nobody holds are made up", unnamed);
}

/* One ECU that refuses many: about it, with the originators beside it. */
static void judge_refuser(struct findings *f, const struct rule *rule,
                          const struct dbr_failed_transfers *like, const struct refusals *sum)
{
    const struct dbr_transfer *t = &like->first;
    struct found *found = findings_add(f, rule);
    const char *refuser = word_ecu(f, t->interface, t->destination);

    about(found, t, t->destination);
    found_between(found, sum->from_ns, sum->to_ns, false);
    found->seen.count = sum->count;
    found->seen.pgn = sum->one_group ? (int32_t)t->pgn : -1;
    for (unsigned a = 0; a < 256; a++)
        if (has_asked(sum, a))
            found_address(found, (uint8_t)a);
    found_title(f, found, "%s refused %llu requests from %zu addresses to send it a long message",
                refuser, (unsigned long long)sum->count, sum->originators);
    if (f->history->timed)
        found_evidence(f, found, "all within %.1f s, from %s on; refused within %.1f ms each",
                       (double)(sum->to_ns - sum->from_ns) / 1e9, word_time(f, sum->from_ns),
                       (double)sum->longest_ns / 1e6);
    found_evidence(f, found, "the first: address %u with %u bytes of %s", t->source, t->size,
                   word_group(f, t->pgn, like->message));
    found_evidence(f, found, "%s", word_reason(f, t));
    tell_originators(f, found, sum, t->interface);
    found_evidence(f, found, "%llu data packets came that belong to no transfer",
                   (unsigned long long)f->history->transfers.counts.stray_data);
}

/*
 * A group that is a fast packet by its definition, yet never came whole from this sender: more
 * likely its frames are none.
 */
static bool may_be_no_fast_packet(const struct dbr_transfers *all,
                                  const struct dbr_failed_transfers *failed)
{
    return failed->first.carrier == DBR_CARRIER_FAST && all->flows[failed->flow].complete == 0;
}

/* The machine was being switched off: nobody is there to answer. */
static bool at_switch_off(const struct findings *f, const struct dbr_failed_transfers *failed)
{
    const struct dbr_bus *bus = &f->history->buses[failed->first.interface];
    return failed->first.end == DBR_TRANSFER_TIMED_OUT && bus->switched_off_ns >= 0 &&
           failed->first.end_ns >= bus->switched_off_ns;
}

static bool is_first_alike(const struct dbr_transfers *all, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (refused_alike(&all->failures[i], &all->failures[index]))
            return false;
    return true;
}

static void judge_failures(struct findings *f, const struct rule *rule)
{
    const struct dbr_transfers *all = &f->history->transfers;

    for (size_t i = 0; i < all->failure_count; i++) {
        const struct dbr_failed_transfers *failed = &all->failures[i];
        struct refusals sum = sum_refusals(all, failed);
        if (may_be_no_fast_packet(all, failed) || at_switch_off(f, failed))
            continue;
        if (sum.originators < REFUSED_ORIGINATORS)
            judge_failure(f, rule, failed);
        else if (is_first_alike(all, i))
            judge_refuser(f, rule, failed, &sum);
    }
}

static void judge_grants(struct findings *f, const struct rule *rule,
                         const struct dbr_stray_flow *s)
{
    const struct dbr_stray_control *c = &s->first;
    struct found *found = findings_add(f, rule);
    const char *group = word_group(f, c->pgn, s->message);

    found_about(found, c->interface, c->source, (int32_t)c->pgn);
    found_address(found, c->destination);
    found_between(found, c->at_ns, s->last_ns, false);
    found->seen.count = s->count;
    found_title(f, found, "%s grants packets of %s again and again, and nobody asked for it",
                word_ecu(f, c->interface, c->source), group);
    found_evidence(f, found, "%llu grants to %s, first at %s, last at %s, each time for %u packets "
                             "from number %u on",
                   (unsigned long long)s->count, word_ecu(f, c->interface, c->destination),
                   word_time(f, c->at_ns), word_time(f, s->last_ns), c->packets, c->next);
    found_evidence(f, found, "no request of %s for this message came before them: they are forged, "
                             "or their sender is stuck",
                   word_ecu(f, c->interface, c->destination));
}

void judge_transfer_failed(struct findings *f, const struct rule *rule)
{
    const struct dbr_transfers *all = &f->history->transfers;

    judge_failures(f, rule);
    for (size_t i = 0; i < all->stray_count; i++)
        if (is_made_up(all, &all->strays[i]))
            judge_grants(f, rule, &all->strays[i]);
}
