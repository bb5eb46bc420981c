/*
 * causes.c - which finding explains which, as far as the link is plain.
 *
 * One table: the finding of this code is because of the finding of that code,
 * where a condition on the two holds. A finding may have several causes.
 */
#include "diagnosis/causes.h"

#include <string.h>

#include "diagnosis/rules.h"

const struct link links[] = {
    /* the recorder's controller on its way off the bus, and what it missed while off */
    {"bus-error-warning", "bus-off", on_same_bus},
    {"bus-error-passive", "bus-off", on_same_bus},
    {"bus-error-burst", "bus-off", on_same_bus},
    {"bus-error-warning", "bus-error-passive", on_same_bus},
    {"bus-error-passive", "bus-no-acknowledge", on_same_bus},
    /* each error raises a counter (ISO 11898-1) */
    {"bus-error-warning", "bus-error-burst", on_same_bus},
    {"bus-error-passive", "bus-error-burst", on_same_bus},
    {"recording-gap", "bus-off", at_same_time},
    {"message-gaps", "bus-off", on_same_bus},
    {"ecu-silent", "bus-off", unheard},
    {"harness-section-silent", "bus-off", unheard},
    {"controller-lost", "bus-off", unheard},
    {"speed-lost", "bus-off", unheard},
    {"message-gaps", "bus-error-burst", on_same_bus},
    {"message-gaps", "bus-load-high", on_same_bus},

    {"ecu-silent", "broadcast-stopped", ordered},
    {"speed-lost", "broadcast-stopped", ordered},
    {"controller-lost", "broadcast-stopped", unheard},
    {"recording-gap", "broadcast-stopped", at_same_time},
    {"message-gaps", "broadcast-stopped", on_same_bus},

    {"address-cannot-claim", "address-conflict", lost_contest},
    {"address-shared", "address-conflict", same_ecu},
    {"ecu-silent", "address-conflict", lost_address},
    {"ecu-restart", "address-conflict", same_ecu},
    {"speed-*", "address-conflict", lost_address},
    {"message-gaps", "address-conflict", same_ecu},

    {"ecu-silent", "harness-section-silent", in_section},
    {"bus-off-suspected", "harness-section-silent", in_section},
    {"ecu-silent", "bus-off-suspected", same_ecu},
    {"bus-error-burst", "bus-off-suspected", drove_off},
    {"ecu-silent", "supply-low", on_same_bus},
    {"harness-section-silent", "supply-low", on_same_bus},
    {"ecu-restart", "supply-low", on_same_bus},
    {"ecu-restart", "ecu-silent", same_ecu},
    {"message-gaps", "ecu-silent", same_ecu},
    {"speed-lost", "ecu-silent", same_ecu},
    {"speed-lost", "ecu-restart", restarted},
    {"speed-not-available", "ecu-restart", restarted},
    {"speed-not-available", "supply-low", on_same_bus},

    /* who fell silent, started anew or shares an address does not finish its transfers */
    {"transfer-failed", "bus-off", on_same_bus},
    {"transfer-failed", "bus-error-burst", on_same_bus},
    {"transfer-failed", "address-conflict", one_of_both},
    {"transfer-failed", "harness-section-silent", section_did_not_answer},
    {"transfer-failed", "bus-off-suspected", did_not_answer},
    {"transfer-failed", "ecu-silent", did_not_answer},
    {"transfer-failed", "ecu-restart", did_not_answer},

    {"address-unclaimed", "transfer-failed", made_up},

    {"speed-*", "speed-*", selects},
    {"direction-disagrees", "direction-disagrees", selects},
    {"speed-erratic", "speed-stuck-zero", same_source}, /* to zero and back */
    {"distance-disagrees", "speed-*", same_source},
    {"message-gaps", "speed-lost", same_ecu},

    /* what ECUs say: of each other, of their supply, of the speed that they send or miss */
    {"speed-*", "fault-code-active", sender_says_why},
    {"fault-code-active", "ecu-missing", misses},
    {"fault-code-active", "ecu-silent", misses},
    {"fault-code-active", "harness-section-silent", misses},
    {"fault-code-active", "bus-off-suspected", misses},
    {"fault-code-active", "address-conflict", misses},
    {"fault-code-active", "ecu-restart", misses},
    {"fault-code-active", "speed-lost", misses},
    {"fault-code-active", "supply-low", supply_says},
    {"fault-code-active", "speed-*", says_it_again},

    /* the chain: what stands still because something before it does */
    {"speed-missing", "ecu-missing", at_same_time},
    {"controller-lost", "ecu-missing", at_same_time},
    {"rate-missing", "ecu-missing", at_same_time},
    {"rate-missing", "speed-*", speed_of_implement},
    {"rate-missing", "controller-lost", without_controller},
    {"rate-missing", "description-refused", same_ecu},
    {"rate-missing", "ecu-silent", silent_implement},
    {"rate-missing", "harness-section-silent", chain_cause},
    {"rate-missing", "address-conflict", same_ecu},
    {"coverage-missing", "rate-missing", same_ecu},
    {"coverage-missing", "speed-*", speed_of_implement},
    {"coverage-missing", "controller-lost", without_controller},
    {"coverage-missing", "description-refused", same_ecu},
    {"coverage-missing", "ecu-silent", silent_implement},
    {"coverage-missing", "harness-section-silent", chain_cause},
    {"coverage-missing", "address-conflict", same_ecu},
    {"controller-lost", "ecu-silent", controller_silent},
    {"controller-lost", "address-conflict", controller_contested},
    {"ecu-restart", "controller-lost", controller_came_back},
    {"speed-lost", "controller-lost", asked_for},
    {"controller-lost", "harness-section-silent", chain_cause},
};

const size_t link_count = sizeof links / sizeof links[0];

bool link_means(const char *pattern, const char *code)
{
    const char *star = strchr(pattern, '*');

    return star ? strncmp(code, pattern, (size_t)(star - pattern)) == 0
                : strcmp(code, pattern) == 0;
}

/* A note is no cause: it is nothing that went wrong. */
static bool can_cause(const struct found *found)
{
    return found->seen.severity > DBR_NOTE;
}

/* Every cause of one effect by one row. */
static void link_causes(const struct findings *f, const struct link *row, struct found *effect)
{
    for (size_t i = 0; i < f->count && effect->cause_count < CAUSES_MAX; i++) {
        struct found *cause = f->items[i];
        if (link_means(row->cause, cause->seen.code) && can_cause(cause) &&
            row->holds(f, effect, cause))
            effect->causes[effect->cause_count++] = cause;
    }
}

void findings_link(struct findings *f)
{
    for (size_t l = 0; l < link_count; l++)
        for (size_t i = 0; i < f->count; i++)
            if (link_means(links[l].effect, f->items[i]->seen.code))
                link_causes(f, &links[l], f->items[i]);
}
