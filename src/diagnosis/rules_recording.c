/*
 * rules_recording.c - flaws of the recording itself, which limit what can be said.
 */
#include "diagnosis/advice.h"
#include "diagnosis/harness.h"
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"

#define EVIDENCE_FILES 8u
#define S_PER_DAY 86400.0

static void reject_reasons(struct findings *f, struct found *found,
                           const struct dbr_file_info *file)
{
    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        const struct dbr_rejected *kind = &file->rejections[i];
        if (kind->count == 0)
            continue;
        found_evidence(f, found, "%.80s: %llu times, first at %s %llu: %s", file->path,
                       (unsigned long long)kind->count, file->by_line ? "line" : "packet",
                       (unsigned long long)kind->first_at,
                       dbr_rejection_words((enum dbr_rejection)i));
    }
}

void judge_recording_rejected(struct findings *f, const struct rule *rule)
{
    struct found *found = NULL;
    uint64_t rejected = 0, records = 0;

    for (size_t i = 0; i < f->info->file_count; i++) {
        const struct dbr_file_info *file = &f->info->files[i];
        records += file->records;
        rejected += file->rejected;
        if (file->rejected == 0)
            continue;
        if (!found)
            found = findings_add(f, rule);
        reject_reasons(f, found, file);
    }
    if (!found)
        return;
    found->seen.count = rejected;
    found_title(f, found, "%llu of %llu records could not be read", (unsigned long long)rejected,
                (unsigned long long)records);
}

void judge_recording_truncated(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->info->file_count; i++) {
        const struct dbr_file_info *file = &f->info->files[i];
        if (!file->truncated)
            continue;
        struct found *found = findings_add(f, rule);
        found_title(f, found, "%.80s ends before its own end", file->path);
        found_evidence(f, found, "%s; %llu frames were read", file->truncated_why,
                       (unsigned long long)file->frames);
    }
}

/* Steps one way: when first, and how far; in days where seconds say little. */
static void tell_steps(struct findings *f, struct found *found, const char *way,
                       const struct dbr_clock_steps *steps)
{
    double s = (double)steps->largest_ns / 1e9;

    if (steps->count > 0)
        found_evidence(f, found, "%s first at %s, at most by %.*f %s; the steps are taken out", way,
                       word_time(f, steps->first_at_ns), s < S_PER_DAY ? 3 : 1,
                       s < S_PER_DAY ? s : s / S_PER_DAY, s < S_PER_DAY ? "s" : "days");
}

void judge_recording_clock_step(struct findings *f, const struct rule *rule)
{
    const struct dbr_clock_steps *back = &f->info->steps_back, *ahead = &f->info->steps_ahead;

    if (back->count + ahead->count == 0)
        return;
    bool back_first = ahead->count == 0 ||
                      (back->count > 0 && back->first_at_ns < ahead->first_at_ns);
    int64_t first_ns = back_first ? back->first_at_ns : ahead->first_at_ns;
    struct found *found = findings_add(f, rule);
    found_between(found, first_ns, first_ns, false);
    found->seen.count = back->count + ahead->count;
    found_title(f, found, "the recorder's clock %s",
                ahead->count == 0  ? "ran backwards"
                : back->count == 0 ? "leapt ahead"
                                   : "ran backwards and leapt ahead");
    tell_steps(f, found, "backwards", back);
    tell_steps(f, found, "ahead", ahead);
}

static bool all_unpowered(const struct dbr_spells *pauses)
{
    for (size_t i = 0; i < pauses->count; i++)
        if (pauses->items[i].count == 0)
            return false;
    return pauses->folded == 0;
}

/* Whether an implement moved as one of them began. */
static bool any_moving(const struct findings *f, const struct dbr_spells *pauses)
{
    for (size_t i = 0; i < pauses->count; i++)
        for (size_t k = 0; k < f->history->bus_count; k++)
            if (harness_held_at(f, (uint8_t)k, DBR_LINK_SPEED, pauses->items[i].start_ns))
                return true;
    return false;
}

/* The machine and not the recorder was off: by its key, if it stood. */
static void without_power(struct findings *f, struct found *found,
                          const struct dbr_spells *pauses)
{
    bool moving = any_moving(f, pauses);

    if (!moving)
        found->seen.severity = DBR_NOTE;
    found_title(f, found, "the bus had no power for some time%s%s",
                pauses->count > 1 ? ", more than once" : "", moving ? ", while moving" : "");
    found_checks(found, check_power);
    found_cautions(found, caution_electric);
}

void judge_recording_gap(struct findings *f, const struct rule *rule)
{
    const struct dbr_spells *pauses = &f->history->pauses;

    if (!f->history->pauses_are_flaws)
        return;
    struct found *found = findings_add(f, rule);
    found_during(found, pauses);
    if (all_unpowered(pauses))
        without_power(f, found, pauses);
    else
        found_title(f, found, "nothing at all was recorded for %s",
                    pauses->count > 1 ? "some time, more than once" : "some time");
    for (size_t i = 0; i < pauses->count; i++)
        found_evidence(f, found, "no frame %s%s", word_span(f, &pauses->items[i]),
                       pauses->items[i].count > 0
                           ? "; all ECUs that came back claimed their addresses anew"
                           : "");
}

void judge_recording_no_error_frames(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->bus_count; i++)
        if (f->history->buses[i].error_frames > 0)
            return;
    struct found *found = findings_add(f, rule);
    found_title(f, found, "bus faults cannot be seen in this recording");
    found_evidence(f, found, "it holds no error frames; most recorders write them only when told "
                             "to");
}
