/*
 * rules_address.c - who claims which address: conflicts, debts, duplicates (SAE J1939-81).
 */
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"

/* More than so many that owe a claim from about one moment on are one matter. Common practice, no
 * source. */
#define UNCLAIMED_HANDFUL 5u
#define UNCLAIMED_TOGETHER_NS INT64_C(5000000000)

/* F where the loser is left without an address or both go on; W where it moved after it had
 * worked under the old one; N where the claim procedure did what it is for (contract). */
static enum dbr_severity conflict_severity(const struct dbr_conflict *c)
{
    switch (c->outcome) {
    case DBR_LOSER_MOVED:
        return c->loser_had_worked ? DBR_WARNING : DBR_NOTE;
    case DBR_LOSER_CANNOT_CLAIM:
    case DBR_LOSER_SILENT:
    case DBR_LOSER_STAYED:
        return DBR_FAULT;
    case DBR_LOSER_UNKNOWN:
        break;
    }
    return DBR_WARNING;
}

static const char *outcome_words(struct findings *f, const struct dbr_conflict *c)
{
    const char *when = word_time(f, c->outcome_at_ns);

    switch (c->outcome) {
    case DBR_LOSER_MOVED:
        return findings_text(f, "moved to address %u at %s", c->moved_to, when);
    case DBR_LOSER_CANNOT_CLAIM:
        return findings_text(f, "said at %s that it cannot claim an address", when);
    case DBR_LOSER_SILENT:
        return "was not heard any more";
    case DBR_LOSER_STAYED:
        return "went on under the same address";
    case DBR_LOSER_UNKNOWN:
        break;
    }
    return "did something that this recording does not show";
}

static const char *party_words(struct findings *f, const struct dbr_conflict *c, bool newcomer)
{
    if (newcomer)
        return findings_text(f, "the newcomer, NAME %s", word_name(f, c->newcomer));
    if (c->incumbent_named)
        return findings_text(f, "the earlier user, NAME %s", word_name(f, c->incumbent));
    return "the earlier user, whose NAME was never seen";
}

void judge_address_conflict(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->conflict_count; i++) {
        const struct dbr_conflict *c = &f->history->conflicts[i];
        struct found *found = findings_add(f, rule);
        bool lasts = c->outcome != DBR_LOSER_MOVED;
        found_about(found, c->interface, c->address, (int32_t)60928);
        found_between(found, c->at_ns, lasts ? c->at_ns : c->outcome_at_ns, lasts);
        found->seen.severity = conflict_severity(c);
        found_title(f, found, "two ECUs claim address %u%s", c->address,
                    word_where(f, c->interface));
        found_evidence(f, found, "second claim at %s, by %s", word_time(f, c->at_ns),
                       party_words(f, c, true));
        found_evidence(f, found, "%s wins%s", party_words(f, c, c->newcomer_wins),
                       c->incumbent_named ? ": the lower NAME does" : "");
        found_evidence(f, found, "%s loses and %s", party_words(f, c, !c->newcomer_wins),
                       outcome_words(f, c));
        if (c->loser_had_worked)
            found_evidence(f, found, "until then the loser had worked under this address");
    }
}

void judge_address_cannot_claim(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->cannot_claim_count; i++) {
        const struct dbr_cannot_claim *c = &f->history->cannot_claims[i];
        struct found *found = findings_add(f, rule);
        found_about(found, c->interface, 254, (int32_t)60928);
        found_between(found, c->first_ns, c->last_ns, false);
        found->seen.count = c->count;
        found_title(f, found, "an ECU reports that it has no address");
        found_evidence(f, found, "NAME %s, first at %s, %llu times", word_name(f, c->name),
                       word_time(f, c->first_ns), (unsigned long long)c->count);
        if (c->previous_address < 0)
            continue;
        found_evidence(f, found, "before, it had address %d", c->previous_address);
        found_address(found, (uint8_t)c->previous_address);
    }
}

void judge_address_shared(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->conflict_count; i++) {
        const struct dbr_conflict *c = &f->history->conflicts[i];
        if (c->shared_from_ns < 0)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, c->interface, c->address, -1);
        found_between(found, c->shared_from_ns, f->history->end_ns, true);
        found_title(f, found, "two ECUs go on sending under address %u%s", c->address,
                    word_where(f, c->interface));
        found_evidence(f, found, "NAMEs %s and %s", word_name(f, c->incumbent),
                       word_name(f, c->newcomer)); /* one without a NAME may be a restart */
        found_evidence(f, found, "groups sent before the second claim go on beside new ones, or "
                                 "twice as often as before");
    }
}

static void judge_one_unclaimed(struct findings *f, const struct rule *rule,
                                const struct dbr_ecu *ecu)
{
    struct found *found = findings_add(f, rule);

    found_about(found, ecu->interface, ecu->address, -1);
    found_between(found, ecu->unclaimed_since_ns, ecu->last_ns, true);
    found_title(f, found, "address %u%s is used and never claimed", ecu->address,
                word_where(f, ecu->interface));
    found_evidence(f, found, "%llu messages from it, no address claim",
                   (unsigned long long)ecu->frames);
    if (ecu->asked_in_vain)
        found_evidence(f, found, "asked for its claim at %s, it gave no answer",
                       word_time(f, ecu->unclaimed_since_ns));
    else
        found_evidence(f, found, "it began to send at %s, in the middle of the recording",
                       word_time(f, ecu->first_ns));
}

/* Addresses that owe a claim since about the same time, for the same reason. */
struct debtors {
    size_t count;
    const struct dbr_ecu *items[256]; /* of one bus */
    uint64_t frames;
    int64_t until_ns, last_ns;
};

static bool is_told(const bool *told, const struct dbr_ecu *ecu, size_t index)
{
    return told[index] || ecu->unclaimed_since_ns < 0;
}

/* The untold one that owes for the longest; NULL: all are told. */
static const struct dbr_ecu *next_debtor(const struct dbr_history *h, const bool *told)
{
    const struct dbr_ecu *first = NULL;

    for (size_t i = 0; i < h->ecu_count; i++)
        if (!is_told(told, &h->ecus[i], i) &&
            (!first || h->ecus[i].unclaimed_since_ns < first->unclaimed_since_ns))
            first = &h->ecus[i];
    return first;
}

static struct debtors debtors_with(const struct dbr_history *h, bool *told,
                                   const struct dbr_ecu *first)
{
    struct debtors d = {.count = 0};

    for (size_t i = 0; i < h->ecu_count; i++) {
        const struct dbr_ecu *ecu = &h->ecus[i];
        if (is_told(told, ecu, i) || ecu->interface != first->interface ||
            ecu->asked_in_vain != first->asked_in_vain ||
            ecu->unclaimed_since_ns - first->unclaimed_since_ns > UNCLAIMED_TOGETHER_NS)
            continue;
        told[i] = true;
        d.items[d.count++] = ecu;
        d.frames += ecu->frames;
        d.until_ns = ecu->unclaimed_since_ns > d.until_ns ? ecu->unclaimed_since_ns : d.until_ns;
        d.last_ns = ecu->last_ns > d.last_ns ? ecu->last_ns : d.last_ns;
    }
    return d;
}

static void judge_many_unclaimed(struct findings *f, const struct rule *rule,
                                 const struct debtors *d, const struct dbr_ecu *first)
{
    struct found *found = findings_add(f, rule);

    found_about(found, first->interface, -1, -1);
    found_between(found, first->unclaimed_since_ns, d->last_ns, true);
    found->seen.count = d->count;
    for (size_t i = 0; i < d->count; i++)
        found_address(found, d->items[i]->address);
    found_title(f, found, "%zu addresses%s are used and never claimed", d->count,
                word_where(f, first->interface));
    found_evidence(f, found, "%llu messages from them, no address claim",
                   (unsigned long long)d->frames);
    if (first->asked_in_vain) {
        found_evidence(f, found, "asked for their claims from %s to %s, they gave no answer",
                       word_time(f, first->unclaimed_since_ns), word_time(f, d->until_ns));
        return;
    }
    found_evidence(f, found, "they began to send from %s to %s, in the middle of the recording",
                   word_time(f, first->unclaimed_since_ns), word_time(f, d->until_ns));
    found_evidence(f, found, "so many at once are rather one sender that makes them up");
}

void judge_address_unclaimed(struct findings *f, const struct rule *rule)
{
    bool told[DBR_ECUS_MAX] = {false};
    const struct dbr_ecu *first;

    while ((first = next_debtor(f->history, told))) {
        struct debtors d = debtors_with(f->history, told, first);
        if (d.count > UNCLAIMED_HANDFUL) {
            judge_many_unclaimed(f, rule, &d, first);
            continue;
        }
        for (size_t i = 0; i < d.count; i++)
            judge_one_unclaimed(f, rule, d.items[i]);
    }
}

void judge_name_duplicate(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->duplicate_count; i++) {
        const struct dbr_duplicate *d = &f->history->duplicates[i];
        struct found *found = findings_add(f, rule);
        found_about(found, d->interface, d->second_address, (int32_t)60928);
        found_address(found, d->first_address);
        found_address(found, d->second_address);
        found_between(found, d->at_ns, f->history->end_ns, true);
        found_title(f, found, "one NAME on two addresses at once, %u and %u", d->first_address,
                    d->second_address);
        found_evidence(f, found, "NAME %s, claimed for address %u at %s; address %u goes on "
                                 "sending", word_name(f, d->name), d->second_address,
                       word_time(f, d->at_ns), d->first_address);
    }
}
