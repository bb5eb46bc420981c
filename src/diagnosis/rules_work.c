/*
 * rules_work.c - the later links of the chain: controller, rate, coverage.
 */
#include <assert.h>

#include "diagnosis/rules.h"
#include "diagnosis/wording.h"

#define EVIDENCE_SPELLS 4u

/* A source that agrees less often than this with the rate is not followed. */
#define FOLLOWS_SHARE 0.9

static struct found *about_implement(struct findings *f, const struct rule *rule,
                                     const struct dbr_implement *i,
                                     const struct dbr_spells *spells)
{
    struct found *found = findings_add(f, rule);

    found_about(found, i->interface, i->address, 51968);
    found_during(found, spells);
    return found;
}

static void spell_times(struct findings *f, struct found *found, const struct dbr_spells *spells,
                        const char *words)
{
    for (size_t i = 0; i < spells->count && i < EVIDENCE_SPELLS; i++)
        found_evidence(f, found, "%s %s", words, word_span(f, &spells->items[i]));
}

/* Switching off ends the controller's status as it should. */
static bool after_switching_off(const struct findings *f, const struct dbr_implement *i,
                                const struct dbr_spells *spells)
{
    int64_t off_ns = f->history->buses[i->interface].switched_off_ns;
    return spells->count == 1 && spells->items[0].open && off_ns >= 0 &&
           spells->items[0].start_ns > off_ns - 3000000000;
}

static bool lost_controller(const struct findings *f, const struct dbr_implement *i)
{
    return i->controller_lost.count > 0 && !after_switching_off(f, i, &i->controller_lost);
}

/* One controller stops for all of its implements at once. */
static bool lost_the_same(const struct findings *f, const struct dbr_implement *a,
                          const struct dbr_implement *b)
{
    return a == b || (a->controller_seen && b->controller_seen && lost_controller(f, a) &&
                      a->interface == b->interface && a->controller == b->controller);
}

static void tell_controller_lost(struct findings *f, const struct rule *rule, size_t k)
{
    const struct dbr_implement *all = f->history->implements, *i = &all[k];
    struct found *found = about_implement(f, rule, i, &i->controller_lost);

    if (i->controller_seen)
        found->seen.address = i->controller;
    found_title(f, found, "%s", i->controller_seen
                                    ? "the task controller's status stopped"
                                    : "no task controller answers the implement");
    spell_times(f, found, &i->controller_lost, "no status");
    if (i->controller_seen)
        found_evidence(f, found, "controller: %s", word_ecu(f, i->interface, i->controller));
    for (size_t other = k; other < f->history->implement_count; other++)
        if (lost_the_same(f, &all[other], i))
            found_evidence(f, found, "implement: %s",
                           word_ecu(f, i->interface, all[other].address));
}

void judge_controller_lost(struct findings *f, const struct rule *rule)
{
    const struct dbr_implement *all = f->history->implements;

    for (size_t k = 0; k < f->history->implement_count; k++) {
        size_t first = 0;
        if (!lost_controller(f, &all[k]))
            continue;
        while (!lost_the_same(f, &all[first], &all[k]))
            first++;
        if (first == k)
            tell_controller_lost(f, rule, k);
    }
}

/* Which source the implement seems to follow: a guess, and called one. */
static void followed_source(struct findings *f, struct found *found,
                            const struct dbr_implement *i)
{
    size_t best = f->history->source_count;
    bool differs = false;

    for (size_t s = 0; s < f->history->source_count && i->follow_total > 0; s++) {
        double share = (double)i->follow_agreed[s] / i->follow_total;
        differs = differs || share < FOLLOWS_SHARE;
        if (share >= FOLLOWS_SHARE &&
            (best == f->history->source_count || i->follow_agreed[s] > i->follow_agreed[best]))
            best = s;
    }
    if (best < f->history->source_count && differs)
        found_evidence(f, found, "a guess: its rate comes and goes with %s",
                       word_source(f, &f->history->sources[best]));
}

static_assert(DBR_SPEED_SOURCES_MAX <= 64, "a bit for each source");

static void other_sources(struct findings *f, struct found *found, const struct dbr_implement *i)
{
    uint64_t mask = 0;

    for (size_t s = 0; s < f->history->source_count; s++) {
        const struct dbr_speed_source *source = &f->history->sources[s];
        bool own = source->interface == i->interface && source->address == i->address;
        if (!own && source->state == DBR_SPEED_STATE_VALID && source->moved)
            mask |= UINT64_C(1) << s;
    }
    if (mask)
        found_evidence(f, found, "speed that would serve: %s", word_sources(f, mask));
}

/* ISO 11783-10, process data acknowledge: one bit a reason. */
static void refusals(struct findings *f, struct found *found, const struct dbr_implement *i)
{
    static const char *const words[] = {
        "command not supported", "no such element", "element does not have this value",
        "trigger not supported", "value cannot be set", "interval or threshold not valid",
        "value does not fit", "value beyond the range"};
    static const uint8_t bits[] = {0x01, 0x02, 0x04, 0x08, 0x10, 0x20, 0x40, 0x80};
    const char *list = "";

    if (i->refused == 0)
        return;
    for (unsigned b = 0; b < sizeof bits; b++)
        if (i->refusal_bits & bits[b])
            list = findings_text(f, "%s%s%s", list, *list ? ", " : ": ", words[b]);
    found_evidence(f, found, "it refused %llu commands of the controller%s",
                   (unsigned long long)i->refused, list);
}

/* Which ones put nothing out; a single one without a name says nothing more than the title. */
static void lacking_elements(struct findings *f, struct found *found,
                             const struct dbr_implement *i)
{
    const char *list = "";
    uint64_t mask = 0;

    for (size_t k = 0; k < i->rate_missing.count; k++)
        mask |= i->rate_missing.items[k].mask;
    for (size_t e = 0; e < i->element_count; e++) {
        bool named = dbr_history_element(f->history, i->interface, i->address, i->elements[e]);
        if ((mask >> e & 1u) && (named || i->element_count > 1))
            list = findings_text(f, "%s%s%s", list, *list ? ", " : "",
                                 word_element(f, i->interface, i->address, i->elements[e]));
    }
    if (*list)
        found_evidence(f, found, "without a rate: %s", list);
}

void judge_rate_missing(struct findings *f, const struct rule *rule)
{
    for (size_t k = 0; k < f->history->implement_count; k++) {
        const struct dbr_implement *i = &f->history->implements[k];
        if (i->rate_missing.count == 0)
            continue;
        struct found *found = about_implement(f, rule, i, &i->rate_missing);
        found_title(f, found, "%s puts nothing out although it is asked to",
                    word_ecu(f, i->interface, i->address));
        spell_times(f, found, &i->rate_missing,
                    "working, moving, set-point above zero, and no rate");
        lacking_elements(f, found, i);
        if (i->drive_disengaged)
            found_evidence(f, found, "the drive (PTO) was not engaged meanwhile");
        else if (!i->drive_engaged)
            found_evidence(f, found, "no PTO reported itself engaged meanwhile");
        refusals(f, found, i);
        followed_source(f, found, i);
        other_sources(f, found, i);
    }
}

static const char *evidence_words(struct findings *f, uint64_t mask)
{
    static const char *const words[] = {"the controller wants it to work", "meters turn",
                                        "the rate is above zero", "a hitch is in work",
                                        "the drive is engaged"};
    const char *list = "";

    for (unsigned b = 0; b < sizeof words / sizeof words[0]; b++)
        if (mask >> b & 1u)
            list = findings_text(f, "%s%s%s", list, *list ? ", " : "", words[b]);
    return list;
}

void judge_coverage_missing(struct findings *f, const struct rule *rule)
{
    for (size_t k = 0; k < f->history->implement_count; k++) {
        const struct dbr_implement *i = &f->history->implements[k];
        if (i->coverage_missing.count == 0)
            continue;
        struct found *found = about_implement(f, rule, i, &i->coverage_missing);
        uint64_t mask = i->coverage_missing.items[0].mask;
        const char *state = mask & DBR_EVIDENCE_STATE_ERROR ? "work state is in error"
                            : mask & DBR_EVIDENCE_SECTIONS  ? "sections stay off"
                                                            : "work state stays off";
        found_title(f, found, "%s works, and its %s: nothing is mapped",
                    word_ecu(f, i->interface, i->address), state);
        spell_times(f, found, &i->coverage_missing,
                    mask & DBR_EVIDENCE_STATE_ERROR ? "work state in error while moving"
                    : mask & DBR_EVIDENCE_SECTIONS  ? "sections off while moving"
                                                    : "work state off while moving");
        found_evidence(f, found, "that it should be on: %s", evidence_words(f, mask));
    }
}
