/*
 * rules_speed.c - a speed source by itself: missing, lost, not available, in error, dead, frozen,
 * erratic. Thresholds are where the spells are made (src/tracking).
 */
#include "drawbar/process_data.h"
#include "diagnosis/rules_rig.h"
#include "diagnosis/wording.h"

/* Implements need some seconds from power-on to their first messages (ISO 11783-10: 6 s). */
#define SETTLED_NS INT64_C(10000000000)

#define EVIDENCE_SPELLS 4u

static struct found *about_source(struct findings *f, const struct rule *rule,
                                  const struct dbr_speed_source *source,
                                  const struct dbr_spells *spells)
{
    struct found *found = findings_add(f, rule);

    found_about(found, source->interface, source->address, (int32_t)source->pgn);
    found_during(found, spells);
    found->kind = (int)source->kind;
    return found;
}

/* After the machine was switched off, a source has no value as it should. */
static bool only_switched_off(const struct findings *f, const struct dbr_speed_source *source,
                              const struct dbr_spells *spells)
{
    int64_t off_ns = f->history->buses[source->interface].switched_off_ns;
    const struct dbr_spell *first = &spells->items[0];
    return spells->count == 1 && first->open && off_ns >= 0 && first->start_ns >= off_ns;
}

static void spell_times(struct findings *f, struct found *found, const struct dbr_spells *spells,
                        const char *words)
{
    for (size_t i = 0; i < spells->count && i < EVIDENCE_SPELLS; i++)
        found_evidence(f, found, "%s %s (%.1f s)", words, word_span(f, &spells->items[i]),
                       (double)(spells->items[i].end_ns - spells->items[i].start_ns) / 1e9);
    if (spells->count + spells->folded > EVIDENCE_SPELLS)
        found_evidence(f, found, "and %llu times more",
                       (unsigned long long)(spells->count + spells->folded - EVIDENCE_SPELLS));
}

/* What the implement's description calls a speed of its own, so that its sensor can be found. */
static void described_as(struct findings *f, struct found *found,
                         const struct dbr_speed_source *source)
{
    const struct dbr_device_story *story =
        dbr_history_device(f->history, source->interface, source->address);
    const struct dbr_device_object *element =
        source->kind == DBR_SPEED_IMPLEMENT && story && story->description
            ? dbr_device_element(story->description, source->element)
            : NULL;
    const struct dbr_device_object *data =
        element ? dbr_device_data(story->description, element, DBR_DDI_ACTUAL_SPEED) : NULL;

    if (data)
        found_evidence(f, found, "its description calls it \"%s\", of %s", data->text,
                       word_element(f, source->interface, source->address, source->element));
}

/* What a person compares a dead source with. */
static void others_then(struct findings *f, struct found *found,
                        const struct dbr_speed_source *except)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *o = &f->history->sources[i];
        if (o == except || o->valid == 0)
            continue;
        found_evidence(f, found, "for comparison: %s is %s, up to %s", word_source(f, o),
                       dbr_speed_state_words(o->state), word_speed(f, o->max_mps));
    }
}

static bool any_source(const struct findings *f, enum dbr_speed_kind kind)
{
    for (size_t i = 0; i < f->history->source_count; i++)
        if (f->history->sources[i].kind == kind)
            return true;
    return false;
}

/* Kinds that the rig names and nobody sends. */
static void missing_of_rig(struct findings *f, const struct rule *rule)
{
    for (int kind = 0; kind < DBR_SPEED_KINDS; kind++) {
        if (!rig_expects_speed(f, (enum dbr_speed_kind)kind) ||
            any_source(f, (enum dbr_speed_kind)kind))
            continue;
        struct found *found = findings_add(f, rule);
        found_between(found, 0, f->history->end_ns, true);
        found->kind = kind;
        found_title(f, found, "the %s speed that the rig expects was never sent",
                    dbr_speed_kind_name((enum dbr_speed_kind)kind));
        found_evidence(f, found, "rig \"%.60s\"", f->rig->name);
        others_then(f, found, NULL);
    }
}

static const struct dbr_ecu *settled_implement(const struct findings *f)
{
    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        if (dbr_ecu_is_implement(ecu) && ecu->last_ns - ecu->first_ns >= SETTLED_NS)
            return ecu;
    }
    return NULL;
}

static bool any_valid_source(const struct findings *f)
{
    for (size_t i = 0; i < f->history->source_count; i++)
        if (f->history->sources[i].valid > 0)
            return true;
    return false;
}

void judge_speed_missing(struct findings *f, const struct rule *rule)
{
    const struct dbr_history *h = f->history;
    const struct dbr_ecu *implement = settled_implement(f);

    missing_of_rig(f, rule);
    if (any_valid_source(f) || !implement)
        return;
    struct found *found = findings_add(f, rule);
    found_about(found, implement->interface, -1, -1);
    found_between(found, implement->first_ns, h->end_ns, true);
    found_title(f, found, "no source of ground speed sends a usable value");
    found_evidence(f, found, "implement %s is on the bus from %s",
                   word_ecu(f, implement->interface, implement->address),
                   word_time(f, implement->first_ns));
    for (size_t i = 0; i < h->source_count; i++)
        found_evidence(f, found, "%s: %llu messages, none of them with a value",
                       word_source(f, &h->sources[i]), (unsigned long long)h->sources[i].frames);
    if (h->source_count == 0)
        found_evidence(f, found, "no message that could carry a speed was seen");
}

void judge_speed_lost(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->lost.count == 0 || source->valid == 0)
            continue;
        struct found *found = about_source(f, rule, source, &source->lost);
        found_title(f, found, "%s stopped coming while its bus went on", word_source(f, source));
        spell_times(f, found, &source->lost, "no message");
        described_as(f, found, source);
        found_evidence(f, found, "until then one message every %.0f ms", source->period_s * 1e3);
    }
}

/* A source that wakes up has no value at first: satellites are searched for, an ECU starts. */
static void not_valid_yet(struct findings *f, const struct rule *rule,
                          const struct dbr_speed_source *source)
{
    const struct dbr_spells *spells = &source->not_available;
    const struct dbr_spell *last = &spells->items[source->not_yet - 1];
    struct found *found = findings_add(f, rule);

    found_about(found, source->interface, source->address, (int32_t)source->pgn);
    found_between(found, spells->items[0].start_ns, last->end_ns, false);
    found->kind = (int)source->kind;
    found->seen.severity = DBR_NOTE;
    found_title(f, found, "%s is not valid yet", word_source(f, source));
    found_evidence(f, found, "its first value comes at %s", word_time(f, last->end_ns));
}

static void not_available(struct findings *f, const struct rule *rule,
                          const struct dbr_speed_source *source, const struct dbr_spells *spells)
{
    struct found *found = about_source(f, rule, source, spells);
    bool ever = source->valid > 0;

    if (!ever && !rig_expects_speed(f, source->kind))
        found->seen.severity = DBR_NOTE;
    found_title(f, found, "%s %s", word_source(f, source),
                ever ? "says \"not available\" after it had been valid" : "is never available");
    spell_times(f, found, spells, "not available");
    described_as(f, found, source);
}

void judge_speed_not_available(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        struct dbr_spells gone = dbr_speed_went_unavailable(source);
        if (gone.count > 0 && !only_switched_off(f, source, &gone))
            not_available(f, rule, source, &gone);
        else if (source->not_yet > 0)
            not_valid_yet(f, rule, source);
    }
}

void judge_speed_error(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->in_error.count == 0)
            continue;
        struct found *found = about_source(f, rule, source, &source->in_error);
        found_title(f, found, "%s reports itself in error", word_source(f, source));
        spell_times(f, found, &source->in_error, "error indicator");
        described_as(f, found, source);
    }
}

void judge_speed_stuck_zero(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->stuck_zero.count == 0)
            continue;
        struct found *found = about_source(f, rule, source, &source->stuck_zero);
        const struct dbr_spell *first = &source->stuck_zero.items[0];
        found_title(f, found, "%s reads zero while the machine moves", word_source(f, source));
        spell_times(f, found, &source->stuck_zero, "zero");
        described_as(f, found, source);
        found_evidence(f, found, "meanwhile %s to %s by %s", word_speed(f, first->low),
                       word_speed(f, first->high), word_sources(f, first->mask));
        if (!source->moved)
            found_evidence(f, found, "it never read anything else in this recording");
    }
}

void judge_speed_frozen(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->frozen.count == 0)
            continue;
        struct found *found = about_source(f, rule, source, &source->frozen);
        const struct dbr_spell *first = &source->frozen.items[0];
        found_title(f, found, "%s repeats one value while the speed changes",
                    word_source(f, source));
        spell_times(f, found, &source->frozen, "one and the same value");
        described_as(f, found, source);
        found_evidence(f, found, "it says %s, others between %s and %s (%s)",
                       word_speed(f, first->own), word_speed(f, first->low),
                       word_speed(f, first->high), word_sources(f, first->mask));
    }
}

void judge_speed_erratic(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->source_count; i++) {
        const struct dbr_speed_source *source = &f->history->sources[i];
        if (source->erratic.count == 0)
            continue;
        struct found *found = about_source(f, rule, source, &source->erratic);
        const struct dbr_spell *first = &source->erratic.items[0];
        found_title(f, found, "%s jumps as no machine can", word_source(f, source));
        spell_times(f, found, &source->erratic, "jumps");
        described_as(f, found, source);
        found_evidence(f, found, "%llu jumps, the largest of %s from one message to the next",
                       (unsigned long long)first->count, word_speed(f, first->own));
        others_then(f, found, source);
    }
}
