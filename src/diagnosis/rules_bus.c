/*
 * rules_bus.c - the state of the recorder's controller, error frames, load, foreign frames.
 */
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"

#define EVIDENCE_SPELLS 4u

static struct found *about_bus(struct findings *f, const struct rule *rule, size_t bus,
                               const struct dbr_spells *spells)
{
    struct found *found = findings_add(f, rule);

    found_about(found, (int)bus, -1, -1);
    found_during(found, spells);
    return found;
}

static void error_counters(struct findings *f, struct found *found, const struct dbr_bus *bus)
{
    if (bus->transmit_errors_max >= 0)
        found_evidence(f, found, "highest error counters: transmit %d, receive %d",
                       bus->transmit_errors_max, bus->receive_errors_max);
}

void judge_bus_off(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (bus->off.count == 0)
            continue;
        struct found *found = about_bus(f, rule, i, &bus->off);
        found_title(f, found, "the recorder's own controller left the bus (bus-off)%s",
                    word_where(f, (int)i));
        for (size_t j = 0; j < bus->off.count && j < EVIDENCE_SPELLS; j++)
            found_evidence(f, found, "off %s; %s", word_span(f, &bus->off.items[j]),
                           bus->off.items[j].open ? "no restart was recorded"
                                                  : "then it was restarted");
        error_counters(f, found, bus);
        found_evidence(f, found, "what was on the bus meanwhile is not in the recording");
    }
}

/* Error-passive and error-warning differ in the limit that a counter passed. */
static void judge_state(struct findings *f, const struct rule *rule, size_t bus_index,
                        const struct dbr_spells *spells, const char *name, int limit)
{
    if (spells->count == 0)
        return;
    struct found *found = about_bus(f, rule, bus_index, spells);
    found_title(f, found, "the recorder's controller became %s%s", name,
                word_where(f, (int)bus_index));
    found_evidence(f, found, "an error counter reached %d, %s", limit,
                   word_span(f, &spells->items[0]));
    error_counters(f, found, &f->history->buses[bus_index]);
}

void judge_bus_error_passive(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++)
        judge_state(f, rule, i, &f->history->buses[i].passive, "error-passive", 128);
}

void judge_bus_error_warning(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++)
        judge_state(f, rule, i, &f->history->buses[i].warning, "error-warning", 96);
}

static const char *kind_words(uint64_t mask)
{
    for (unsigned i = 0; i < DBR_ERROR_KIND_COUNT; i++)
        if (mask >> i & 1u)
            return dbr_error_kind_words((enum dbr_error_kind)i);
    return "of no stated kind";
}

void judge_bus_error_burst(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (bus->bursts.count == 0)
            continue;
        struct found *found = about_bus(f, rule, i, &bus->bursts);
        found_title(f, found, "bursts of error frames%s, mostly: %s", word_where(f, (int)i),
                    kind_words(bus->bursts.items[0].mask));
        for (size_t j = 0; j < bus->bursts.count && j < EVIDENCE_SPELLS; j++)
            found_evidence(f, found, "%llu error frames %s, mostly: %s",
                           (unsigned long long)bus->bursts.items[j].count,
                           word_span(f, &bus->bursts.items[j]),
                           kind_words(bus->bursts.items[j].mask));
        found_evidence(f, found, "%llu error frames in the whole recording",
                       (unsigned long long)bus->error_frames);
    }
}

void judge_bus_no_acknowledge(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (bus->no_acknowledge == 0)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, (int)i, -1, -1);
        found_between(found, bus->first_no_acknowledge_ns, bus->last_no_acknowledge_ns, false);
        found->seen.count = bus->no_acknowledge;
        found_title(f, found, "nobody acknowledged frames%s", word_where(f, (int)i));
        found_evidence(f, found, "%llu error frames say so, first at %s",
                       (unsigned long long)bus->no_acknowledge,
                       word_time(f, bus->first_no_acknowledge_ns));
    }
}

void judge_bus_load_high(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (!bus->measured || bus->busy.count == 0)
            continue;
        struct found *found = about_bus(f, rule, i, &bus->busy);
        if (bus->very_busy.count > 0)
            found->seen.severity = DBR_FAULT;
        found_title(f, found, "the bus is too busy%s: up to %.0f %% load", word_where(f, (int)i),
                    bus->load_peak_percent);
        found_evidence(f, found, "peak of %.1f %% in the second from %s, mean %.1f %%",
                       bus->load_peak_percent, word_time(f, bus->load_peak_at_ns),
                       bus->load_mean_percent);
        for (size_t j = 0; j < bus->busy.count && j < EVIDENCE_SPELLS; j++)
            found_evidence(f, found, "70 %% and more %s", word_span(f, &bus->busy.items[j]));
    }
}

void judge_bus_foreign_frames(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++) {
        const struct dbr_bus *bus = &f->history->buses[i];
        if (bus->first_foreign_ns < 0)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, (int)i, -1, -1);
        found_between(found, bus->first_foreign_ns, bus->last_ns, true);
        found->seen.count = bus->standard_frames > bus->fd_frames ? bus->standard_frames
                                                                  : bus->fd_frames;
        found_title(f, found, "frames that do not belong on a tractor or implement bus%s",
                    word_where(f, (int)i));
        found_evidence(f, found, "%llu frames with 11-bit identifiers, %llu CAN FD frames",
                       (unsigned long long)bus->standard_frames,
                       (unsigned long long)bus->fd_frames);
    }
}
