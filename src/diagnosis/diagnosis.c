/*
 * diagnosis.c - runs the rules, links causes, puts findings in order, speaks the verdict.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnosis/rules.h"
#include "diagnosis/unknowns.h"
#include "diagnosis/wording.h"

struct diagnosis {
    struct dbr_diagnosis seen; /* first: the public pointer is this struct */
    struct findings findings;
    struct dbr_finding *list;
    size_t *roots;
};

const char *dbr_severity_name(enum dbr_severity severity)
{
    switch (severity) {
    case DBR_NOTE:
        return "note";
    case DBR_WARNING:
        return "warning";
    case DBR_FAULT:
        return "fault";
    }
    return "unknown";
}

/* A number that tells the order of two: below 0, the first goes first. */
static int order(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

/* Findings of one rule: none is about a trouble code, or each is. Codes of one list have all else
 * in common. */
static int compare_troubles(const struct dbr_trouble *a, const struct dbr_trouble *b)
{
    if (!a)
        return 0;
    int sign = order(a->code.spn, b->code.spn);
    if (sign == 0)
        sign = order(a->code.fmi, b->code.fmi);
    return sign ? sign : a->code.older_layout - b->code.older_layout;
}

/* What has no time goes last. */
static int compare_starts(const struct found *a, const struct found *b)
{
    const struct dbr_finding *x = &a->seen, *y = &b->seen;
    const int signs[] = {order(y->timed, x->timed),         order(x->start_ns, y->start_ns),
                         order(a->rule - rules, b->rule - rules),
                         order(x->interface, y->interface), order(x->address, y->address),
                         order(x->pgn, y->pgn)};

    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
        if (signs[i] != 0)
            return signs[i];
    return compare_troubles(x->trouble, y->trouble);
}

/* Worst first, then in the order of time. */
static int by_severity(const void *x, const void *y)
{
    const struct found *a = *(struct found *const *)x, *b = *(struct found *const *)y;
    int sign = order(b->seen.severity, a->seen.severity);

    return sign ? sign : compare_starts(a, b);
}

/*
 * Contract, order of root causes: fault before warning, then up the chain, then time. A warning
 * from which a fault follows weighs as much as the fault.
 */
static int by_importance(const void *x, const void *y)
{
    const struct found *a = *(struct found *const *)x, *b = *(struct found *const *)y;
    int sign = order(b->weight, a->weight);

    if (sign == 0)
        sign = order(a->rule->group, b->rule->group);
    return sign ? sign : compare_starts(a, b);
}

/* Links go one way: after as many rounds as there are links in the longest chain nothing changes. */
static void weigh_findings(struct findings *f)
{
    bool changed = true;

    for (size_t i = 0; i < f->count; i++)
        f->items[i]->weight = f->items[i]->seen.severity;
    while (changed) {
        changed = false;
        for (size_t i = 0; i < f->count; i++)
            for (size_t k = 0; k < f->items[i]->cause_count; k++) {
                struct found *cause = f->items[i]->causes[k];
                bool heavier = cause->weight < f->items[i]->weight;
                cause->weight = heavier ? f->items[i]->weight : cause->weight;
                changed = changed || heavier;
            }
    }
}

/* Without time stamps all times are 0: they say nothing. */
static void forget_times(struct findings *f)
{
    for (size_t i = 0; i < f->count; i++) {
        struct dbr_finding *seen = &f->items[i]->seen;
        seen->timed = seen->open = false;
        seen->start_ns = seen->end_ns = 0;
    }
}

static void number_findings(struct findings *f)
{
    qsort(f->items, f->count, sizeof f->items[0], by_severity);
    for (size_t i = 0; i < f->count; i++)
        f->items[i]->index = i;
    for (size_t i = 0; i < f->count; i++) {
        struct found *found = f->items[i];
        for (size_t j = 0; j < found->cause_count; j++)
            found->cause_indices[j] = found->causes[j]->index;
        found->seen.cause_count = found->cause_count;
        found->seen.causes = found->cause_indices;
        if (f->rig && found->section >= 0)
            found->seen.section = findings_text(f, "%s", f->rig->sections[found->section]);
    }
}

static bool publish_findings(struct diagnosis *d)
{
    struct findings *f = &d->findings;

    d->list = calloc(f->count + 1, sizeof *d->list);
    for (size_t i = 0; d->list && i < f->count; i++)
        d->list[i] = f->items[i]->seen;
    d->seen.findings = d->list;
    d->seen.finding_count = f->count;
    d->seen.findings_dropped = f->dropped;
    return d->list != NULL;
}

/* Findings at fault or warning that no other finding explains, most important first. */
static bool find_roots(struct diagnosis *d)
{
    struct findings *f = &d->findings;
    size_t count = 0;
    struct found **roots = calloc(f->count + 1, sizeof(struct found *));

    d->roots = calloc(f->count + 1, sizeof *d->roots);
    if (!roots || !d->roots) {
        free(roots);
        return false;
    }
    for (size_t i = 0; i < f->count; i++)
        if (f->items[i]->seen.severity > DBR_NOTE && f->items[i]->cause_count == 0)
            roots[count++] = f->items[i];
    qsort(roots, count, sizeof(struct found *), by_importance);
    for (size_t i = 0; i < count; i++)
        d->roots[i] = roots[i]->index;
    free(roots);
    d->seen.verdict.root_causes = d->roots;
    d->seen.verdict.root_cause_count = count;
    return true;
}

/* How many findings at fault or warning another finding explains. */
static size_t consequences(const struct findings *f)
{
    size_t count = 0;

    for (size_t i = 0; i < f->count; i++)
        count += f->items[i]->seen.severity > DBR_NOTE && f->items[i]->cause_count > 0;
    return count;
}

static const char *and_others(struct findings *f, size_t roots)
{
    if (roots < 2)
        return "";
    return findings_text(f, " %zu more %s no cause among the others.", roots - 1,
                         roots == 2 ? "finding has" : "findings have");
}

static const char *and_consequences(struct findings *f)
{
    size_t count = consequences(f);

    if (count == 0)
        return "";
    return findings_text(f, " %zu other %s from what is named first.", count,
                         count == 1 ? "finding follows" : "findings follow");
}

static bool ever(const struct dbr_link_story *story, enum dbr_answer answer)
{
    for (size_t i = 0; i < story->count; i++)
        if (story->items[i].answer == answer)
            return true;
    return false;
}

/* Why the link did not hold, as it was last; only of one that failed at some time. */
static enum dbr_link_reason last_reason(const struct dbr_link_story *story)
{
    size_t k = story->count - 1;

    while (story->items[k].answer != DBR_ANSWER_FAILED)
        k--;
    return story->items[k].reason;
}

/*
 * Why an implement never metered, by the first link of its chain that never held; "": it did, or
 * nothing tells. A setting (a set-point of zero, a raised implement) is no fault, but an answer.
 * One that never told a rate may have put out all the same.
 */
static const char *why_no_rate(struct findings *f)
{
    for (size_t i = 0; i < f->history->implement_count; i++) {
        const struct dbr_implement *implement = &f->history->implements[i];
        const struct dbr_link_story *rate = &implement->links[DBR_LINK_RATE];
        if (ever(rate, DBR_ANSWER_HELD))
            continue;
        for (int l = 0; l < DBR_LINK_RATE; l++) {
            const struct dbr_link_story *story = &implement->links[l];
            if (ever(story, DBR_ANSWER_HELD) || !ever(story, DBR_ANSWER_FAILED))
                continue;
            return findings_text(f, ever(rate, DBR_ANSWER_FAILED) ? " Nothing came out of %s: %s."
                                                                  : " No rate of %s was seen: %s.",
                                 word_ecu(f, implement->interface, implement->address),
                                 dbr_link_reason_words(last_reason(story)));
        }
    }
    return "";
}

static const char *sentence(struct diagnosis *d)
{
    struct findings *f = &d->findings;
    size_t roots = d->seen.verdict.root_cause_count;

    if (roots == 0 && d->seen.cannot_tell.count > 0)
        return findings_text(f, "No fault and no warning in what this recording shows; it does not "
                                "show all.%s", why_no_rate(f));
    if (roots == 0)
        return findings_text(f, "No fault and no warning in this recording.%s", why_no_rate(f));
    const struct dbr_finding *first = &d->list[d->roots[0]];
    enum dbr_severity weight = f->items[d->roots[0]]->weight;
    return findings_text(f, "%s: %s.%s%s",
                         weight == DBR_FAULT ? "Fault" : "Worth a look", first->title,
                         and_others(f, roots), and_consequences(f));
}

struct dbr_diagnosis *dbr_diagnosis_new(const struct dbr_history *history,
                                        const struct dbr_recording_info *info,
                                        const struct dbr_diagnosis_options *options,
                                        struct dbr_error *error)
{
    struct diagnosis *d = calloc(1, sizeof *d);

    if (!d) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    d->findings.history = history;
    d->findings.info = info;
    d->findings.units = options->units;
    d->findings.rig = options->rig;
    for (size_t i = 0; i < rule_count; i++)
        rules[i].judge(&d->findings, &rules[i]);
    if (!history->timed)
        forget_times(&d->findings);
    codes_hint_at_speeds(&d->findings);
    for (size_t i = 0; i < d->findings.count; i++)
        found_advise(&d->findings, d->findings.items[i]);
    findings_link(&d->findings);
    weigh_findings(&d->findings);
    number_findings(&d->findings);
    bool complete = publish_findings(d) && find_roots(d);
    d->seen.cannot_tell = unknowns_list(&d->findings);
    d->seen.untold = unknowns_untold(&d->findings);
    d->seen.record_better = unknowns_advice(&d->findings);
    d->seen.verdict.sentence = complete ? sentence(d) : "";
    if (!complete || d->findings.failed) {
        dbr_diagnosis_free(&d->seen);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    return &d->seen;
}

void dbr_diagnosis_free(struct dbr_diagnosis *diagnosis)
{
    struct diagnosis *d = (struct diagnosis *)diagnosis;

    if (!d)
        return;
    findings_release(&d->findings);
    free((void *)d->seen.cannot_tell.items);
    free((void *)d->seen.untold.items);
    free((void *)d->seen.record_better.items);
    free(d->list);
    free(d->roots);
    free(d);
}
