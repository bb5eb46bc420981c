/*
 * rules_device.c - descriptions that a task controller did not take.
 *
 * Without the description of an implement its controller knows neither its elements nor
 * their values: it asks for nothing and maps nothing (ISO 11783-10).
 */
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

#define REFUSAL_MAX 240u

/* A description that could not be deleted or renamed still serves. */
static bool keeps_it_out(const struct dbr_device_refusal *refusal)
{
    return refusal->kind == DBR_REFUSED_MEMORY || refusal->kind == DBR_REFUSED_TRANSFER ||
           refusal->kind == DBR_REFUSED_ACTIVATION;
}

static const struct dbr_device_refusal *first_refusal(const struct dbr_device_story *story)
{
    for (size_t i = 0; i < story->refusal_count; i++)
        if (keeps_it_out(&story->refusals[i]))
            return &story->refusals[i];
    return NULL;
}

static void tell_refusals(struct findings *f, struct found *found,
                          const struct dbr_device_story *story)
{
    char text[REFUSAL_MAX];

    for (size_t i = 0; i < story->refusal_count; i++)
        if (keeps_it_out(&story->refusals[i]))
            found_evidence(f, found, "%s (at %s)",
                           dbr_device_refusal_text(text, sizeof text, &story->refusals[i]),
                           word_time(f, story->refusals[i].at_ns));
    if (dbr_device_story_problem(text, sizeof text, story))
        found_evidence(f, found, "what is wrong with it: %s", text);
}

void judge_description_refused(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->device_count; i++) {
        const struct dbr_device_story *story = &f->history->devices[i];
        const struct dbr_device_refusal *first = first_refusal(story);
        if (!first || story->activated)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, story->interface, story->address, DBR_PGN_PROCESS_DATA);
        found_between(found, first->at_ns, f->history->end_ns, true);
        found_title(f, found, "the task controller did not take the description of %s",
                    word_ecu(f, story->interface, story->address));
        tell_refusals(f, found, story);
    }
}
