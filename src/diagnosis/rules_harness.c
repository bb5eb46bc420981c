/*
 * rules_harness.c - what silences say about cables: several at once, how they ended,
 * how often they came, and what went along with them.
 */
#include <stdio.h>

#include "diagnosis/harness.h"
#include "diagnosis/rules.h"
#include "diagnosis/rules_rig.h"
#include "diagnosis/wording.h"

/* Contract, bus-off-suspected: error frames in the second before the silence. Until the ECU is
 * missed, its last interval passes. */
#define ERRORS_BEFORE_NS INT64_C(1000000000)

#define CIRCUMSTANCES_MAX 64u

#define EVIDENCE_ECUS 8u /* of a section, that are told one by one */

bool harness_held_at(const struct findings *f, uint8_t interface, enum dbr_link link,
                     int64_t at_ns)
{
    for (size_t i = 0; i < f->history->implement_count; i++) {
        const struct dbr_implement *implement = &f->history->implements[i];
        const struct dbr_link_story *story = &implement->links[link];
        for (size_t k = 0; implement->interface == interface && k < story->count; k++)
            if (story->items[k].answer == DBR_ANSWER_HELD && story->items[k].start_ns <= at_ns &&
                story->items[k].end_ns >= at_ns)
                return true;
    }
    return false;
}

/* The break falls between the last message and the next that was due: a second is enough. */
#define AROUND_NS INT64_C(1000000000)

static bool spell_around(const struct dbr_spells *spells, int64_t at_ns)
{
    for (size_t i = 0; i < spells->count; i++)
        if (spells->items[i].start_ns <= at_ns + AROUND_NS &&
            (spells->items[i].open || spells->items[i].end_ns >= at_ns - AROUND_NS))
            return true;
    return false;
}

/* It comes and goes: how often, and what goes along with it. */
void harness_rhythm(struct findings *f, struct found *found, const struct dbr_ecu *ecu)
{
    const struct dbr_spells *s = &ecu->silences;
    const struct dbr_bus *bus = &f->history->buses[ecu->interface];
    size_t moving = 0, working = 0, driven = 0, shaken = 0;

    if (s->count < 3)
        return;
    for (size_t i = 0; i < s->count; i++) {
        moving += harness_held_at(f, ecu->interface, DBR_LINK_SPEED, s->items[i].start_ns);
        working += harness_held_at(f, ecu->interface, DBR_LINK_WORKING, s->items[i].start_ns);
        driven += spell_around(&bus->drive_engaged, s->items[i].start_ns);
        shaken += spell_around(&bus->hitch_moves, s->items[i].start_ns);
    }
    double span_s = (double)(s->items[s->count - 1].start_ns - s->items[0].start_ns) / 1e9;
    found_evidence(f, found, "%zu times, on average every %.0f s: a loose contact rather than a "
                             "dead part", s->count, span_s / (double)(s->count - 1));
    if (f->history->implement_count > 0 || driven > 0 || shaken > 0)
        found_evidence(f, found, "%zu of them began while moving, %zu while working, %zu with the "
                                 "PTO on, %zu as the hitch moved",
                       moving, working, driven, shaken);
}

/* Error frames from a second before a silence until the ECU is missed. */
const struct dbr_spell *harness_errors(const struct findings *f, const struct dbr_ecu *ecu,
                                         int64_t silent_ns)
{
    const struct dbr_spells *errors = &f->history->buses[ecu->interface].errors;
    int64_t missed_ns = silent_ns + (int64_t)(ecu->mean_interval_s * 1e9);

    for (size_t i = 0; i < errors->count; i++)
        if (errors->items[i].start_ns <= missed_ns &&
            errors->items[i].end_ns >= silent_ns - ERRORS_BEFORE_NS)
            return &errors->items[i];
    return NULL;
}

/*
 * An ECU claims its address whenever it starts (SAE J1939-81 4.2); one that only lost
 * the bus lines goes on where it was.
 */
void harness_return(struct findings *f, struct found *found, const struct silence_group *g)
{
    size_t back = 0, claimed = 0;

    for (size_t i = 0; i < g->count; i++) {
        back += !g->spells[i]->open;
        claimed += !g->spells[i]->open && g->spells[i]->count > 0;
    }
    if (back == 0)
        found_evidence(f, found, "supply or bus lines: no supply at the connector points to fuse, "
                                 "cable or ground, supply present to the bus lines");
    else if (claimed == back)
        found_evidence(f, found, "a new address claim on return: started again, so rather the "
                                 "supply than the bus lines");
    else if (claimed == 0)
        found_evidence(f, found, "back without a new address claim: not started again, so rather "
                                 "the bus lines than the supply");
}

static struct found *same_section(struct findings *f, const struct rule *rule,
                                  const struct silence_group *g)
{
    for (size_t i = 0; i < f->count; i++) {
        struct found *other = f->items[i];
        bool same = other->rule == rule && other->seen.interface == g->interface &&
                    other->seen.address_count == g->count;
        for (size_t j = 0; same && j < g->count; j++) {
            bool member = false;
            for (size_t k = 0; k < g->count; k++)
                member = member || other->seen.addresses[k] == g->ecus[j]->address;
            same = member;
        }
        if (same)
            return other;
    }
    return NULL;
}

/* What went on when a silence began, as far as messages tell. */
static const char *circumstances(const struct findings *f, const struct silence_group *g, char *out,
                                 size_t size)
{
    const struct dbr_bus *bus = &f->history->buses[g->interface];
    bool moving = harness_held_at(f, g->interface, DBR_LINK_SPEED, g->start_ns);
    bool working = harness_held_at(f, g->interface, DBR_LINK_WORKING, g->start_ns);
    const char *motion = moving ? ", moving" : ", standing";

    snprintf(out, size, "%s%s%s%s", f->history->implement_count > 0 ? motion : "",
             working ? ", at work" : "",
             spell_around(&bus->drive_engaged, g->start_ns) ? ", PTO on" : "",
             spell_around(&bus->hitch_moves, g->start_ns) ? ", as the hitch moved" : "");
    return out;
}

static void add_again(struct findings *f, struct found *found, const struct silence_group *g)
{
    char with[CIRCUMSTANCES_MAX];

    found->seen.count++;
    found->seen.end_ns = g->end_ns;
    found->seen.open = g->open;
    found_evidence(f, found, "once more %s, %.0f s after the first time%s",
                   word_span(f, g->spells[0]),
                   (double)(g->start_ns - found->seen.start_ns) / 1e9,
                   circumstances(f, g, with, sizeof with));
}

static void add_section(struct findings *f, const struct rule *rule,
                        const struct silence_group *g)
{
    char with[CIRCUMSTANCES_MAX];

    if (g->count < 2)
        return;
    struct found *found = same_section(f, rule, g);
    if (found) {
        add_again(f, found, g);
        return;
    }
    found = findings_add(f, rule);
    found_about(found, g->interface, -1, -1);
    found_between(found, g->start_ns, g->end_ns, g->open);
    found_title(f, found, "%zu ECUs fell silent together while others went on", g->count);
    for (size_t i = 0; i < g->count; i++)
        found_address(found, g->ecus[i]->address);
    rig_locate(f, found, g);
    const struct dbr_spell *errors = harness_errors(f, g->ecus[0], g->start_ns);
    if (errors)
        found_evidence(f, found, "%llu error frames at its beginning: the bus lines were "
                                 "touched, not the supply alone",
                       (unsigned long long)errors->count);
    for (size_t i = 0; i < g->count && i < EVIDENCE_ECUS; i++)
        found_evidence(f, found, "%s: silent %s%s", word_ecu(f, g->interface, g->ecus[i]->address),
                       word_span(f, g->spells[i]), circumstances(f, g, with, sizeof with));
    if (g->count > EVIDENCE_ECUS)
        found_evidence(f, found, "and %zu more of them", g->count - EVIDENCE_ECUS);
    harness_return(f, found, g);
}

void judge_harness_section_silent(struct findings *f, const struct rule *rule)
{
    silences_visit(f, rule, add_section);
}
