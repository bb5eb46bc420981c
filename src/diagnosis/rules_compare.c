/*
 * rules_compare.c - speed sources against each other: scale, distance, direction, selection.
 */
#include <math.h>

#include "diagnosis/arithmetic.h"
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"

/* Contract, speed-disagrees. The lower limit is also what slip and tyres of sound machines reach. */
#define WARNING_SHARE 0.05
#define FAULT_SHARE 0.15
#define COMPARED_S 20.0

/* A driven wheel that runs ahead of the ground by so much slips (8..15 % for best power transfer). */
#define SLIP_MAX 0.15

static enum dbr_severity scale_severity(const struct dbr_speed_source *source)
{
    double off = source->ratio_to_reference - 1;

    if (source->driven && off > 0 && off <= SLIP_MAX)
        return DBR_NOTE;
    /* One other source may be the sick one itself: nobody is convicted by it alone. */
    if (fabs(off) > FAULT_SHARE && source->reference_supported)
        return DBR_FAULT;
    return DBR_WARNING;
}

/* Slip where it can be slip; else what a calibration value would have to become. */
static void explain_scale(struct findings *f, struct found *found,
                          const struct dbr_speed_source *source)
{
    double ratio = source->ratio_to_reference;

    if (source->driven && source->kind == DBR_SPEED_SELECTED)
        found_evidence(f, found, "for most of that time it is the speed of the driven wheels");
    if (found->seen.severity == DBR_NOTE) {
        found_evidence(f, found, "slip %.1f %%: 8 to 15 %% is usual for best power transfer",
                       100 * wheel_slip(ratio, 1));
        return;
    }
    if (source->driven && ratio > 1 + SLIP_MAX)
        found_evidence(f, found, "more than slip explains: tyre size or calibration");
    found_evidence(f, found, "if it is the calibration: multiply pulses per distance by %.4f, or "
                             "distance per pulse by %.4f",
                   pulses_per_distance_factor(ratio), distance_per_pulse_factor(ratio));
}

static void judge_scale(struct findings *f, const struct rule *rule,
                        const struct dbr_speed_source *source)
{
    const struct dbr_speed_source *reference = &f->history->sources[source->reference];
    double percent = 100 * (source->ratio_to_reference - 1);
    struct found *found = findings_add(f, rule);

    found_about(found, source->interface, source->address, (int32_t)source->pgn);
    found_between(found, source->compared_since_ns, source->last_ns, true);
    found->kind = (int)source->kind;
    found->seen.severity = scale_severity(source);
    const char *slip = found->seen.severity == DBR_NOTE ? ": slip of the driven wheels" : "";
    found_title(f, found, "%s reads %.1f %% %s%s", word_source(f, source), fabs(percent),
                percent > 0 ? "high" : "low", slip);
    found_evidence(f, found, "median ratio %.3f to %s, over %.0f s in which both move",
                   source->ratio_to_reference, word_source(f, reference), source->compared_s);
    explain_scale(f, found, source);
    if (!source->reference_supported && found->seen.severity != DBR_NOTE)
        found_evidence(f, found, "no third ECU confirms either: this recording cannot tell which "
                                 "of the two is wrong");
    if (reference->driven)
        found_evidence(f, found, "the comparison is with a driven wheel, whose slip is unknown");
}

bool rule_judges_scale(const struct dbr_speed_source *source)
{
    return source->reference >= 0 && source->compared_s >= COMPARED_S;
}

void judge_speed_disagrees(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (rule_judges_scale(source) && fabs(source->ratio_to_reference - 1) > WARNING_SHARE)
            judge_scale(f, rule, source);
    }
}

void judge_distance_disagrees(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->distance.count == 0)
            continue;
        const struct dbr_spell *first = &source->distance.items[0];
        struct found *found = findings_add(f, rule);
        found_about(found, source->interface, source->address, (int32_t)source->pgn);
        found_during(found, &source->distance);
        found->kind = (int)source->kind;
        found_title(f, found, "distance and speed of one message differ: %s",
                    word_source(f, source));
        found_evidence(f, found, "%s: %s by its counter, %s by its speed", word_span(f, first),
                       word_distance(f, first->own), word_distance(f, first->high));
    }
}

void judge_direction_disagrees(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->direction.count == 0)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, source->interface, source->address, (int32_t)source->pgn);
        found_during(found, &source->direction);
        found->kind = (int)source->kind;
        found_title(f, found, "two sources report opposite directions while moving");
        found_evidence(f, found, "%s against %s, %s", word_source(f, source),
                       word_sources(f, source->direction.items[0].mask),
                       word_span(f, &source->direction.items[0]));
    }
}

/* SPN 4308; of other values no change is kept. */
static const char *selection_words(uint8_t raw)
{
    static const char *const words[] = {"wheel", "ground", "navigation", "blended", "simulated"};
    return words[raw];
}

void judge_speed_source_changed(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        for (size_t j = 0; j < source->change_count; j++) {
            const struct dbr_selection_change *change = &source->changes[j];
            bool last = j + 1 == source->change_count;
            struct found *found = findings_add(f, rule);
            found_about(found, source->interface, source->address, (int32_t)source->pgn);
            found_between(found, change->at_ns, change->at_ns, false);
            found_title(f, found, "%s now comes from %s, before from %s", word_source(f, source),
                        selection_words(change->to), selection_words(change->from));
            found_evidence(f, found, "changed at %s", word_time(f, change->at_ns));
            if (last && source->changes_total > source->change_count)
                found->seen.count = source->changes_total - source->change_count + 1;
        }
    }
}
