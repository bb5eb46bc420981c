/*
 * rules_rig.c - what the rig expects and the recording lacks, and where on the cable silences are.
 */
#include "diagnosis/rules_rig.h"

#include <string.h>

#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

static bool was_heard(const struct findings *f, size_t entry)
{
    for (size_t i = 0; i < f->history->ecu_count; i++)
        if (dbr_rig_fits(f->rig, entry, &f->history->ecus[i]))
            return true;
    return false;
}

/* Somebody who sends, whose claim the recording does not hold, and whom the rig does not know by
 * its address: it may be any that the rig knows by NAME. One that was asked for its claim in vain
 * has none to tell, so it is not one of these. */
static bool may_be_any(const struct findings *f, const struct dbr_ecu *ecu)
{
    return ecu->name_count == 0 && ecu->address < DBR_ADDRESS_NULL && !ecu->asked_in_vain &&
           dbr_rig_find(f->rig, ecu) < 0;
}

size_t rig_strangers(const struct findings *f)
{
    size_t count = 0;

    for (size_t i = 0; f->rig && i < f->history->ecu_count; i++)
        count += may_be_any(f, &f->history->ecus[i]);
    return count;
}

bool rig_untold(const struct findings *f, size_t entry)
{
    return f->rig->ecus[entry].when.address < 0 && !was_heard(f, entry) && rig_strangers(f) > 0;
}

void judge_ecu_missing(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; f->rig && i < f->rig->ecu_count; i++) {
        const struct dbr_rig_ecu *entry = &f->rig->ecus[i];
        if (was_heard(f, i) || rig_untold(f, i))
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, -1, entry->when.address, -1);
        found_between(found, 0, f->history->end_ns, true);
        if (entry->optional)
            found->seen.severity = DBR_NOTE;
        found_title(f, found, entry->optional ? "%.160s is not on the bus; the rig calls it optional"
                                              : "%.160s is not on the bus", entry->label);
        found_evidence(f, found, "the rig \"%.60s\" has it in section \"%.60s\"", f->rig->name,
                       f->rig->sections[entry->section]);
        found->section = (int)entry->section;
        found->seen.missing = findings_text(f, "%s", entry->label);
    }
}

/* What became of the ECUs of a section at a moment. */
struct section_state {
    size_t alive, silent;
};

static bool is_in(const struct silence_group *g, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < g->count; i++)
        if (g->ecus[i] == ecu)
            return true;
    return false;
}

static void count_sections(const struct findings *f, const struct silence_group *g,
                           struct section_state states[DBR_RIG_SECTIONS_MAX])
{
    memset(states, 0, DBR_RIG_SECTIONS_MAX * sizeof states[0]);
    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        int entry = dbr_rig_find(f->rig, ecu);
        if (entry < 0 || ecu->interface != g->interface)
            continue;
        struct section_state *state = &states[f->rig->ecus[entry].section];
        if (is_in(g, ecu))
            state->silent++;
        else if (ecu->first_ns <= g->start_ns && ecu->last_ns > g->start_ns)
            state->alive++;
    }
}

/* The last section that lives, seen from the first dead one towards the recorder; -1: none. */
static int living_neighbour(const struct findings *f, const struct section_state *states,
                            int dead)
{
    int towards = f->rig->recorder_in >= 0 && f->rig->recorder_in > dead ? 1 : -1;

    for (int i = dead + towards; i >= 0 && i < (int)f->rig->section_count; i += towards)
        if (states[i].alive > 0)
            return i;
    return -1;
}

/* The dead section that is nearest to the recorder. */
static int first_dead(const struct findings *f, const struct section_state *states)
{
    int from = f->rig->recorder_in >= 0 ? f->rig->recorder_in : 0, best = -1, least = 0;

    for (int i = 0; i < (int)f->rig->section_count; i++) {
        int away = i > from ? i - from : from - i;
        if (states[i].silent > 0 && (best < 0 || away < least)) {
            best = i;
            least = away;
        }
    }
    return best;
}

void rig_locate(struct findings *f, struct found *found, const struct silence_group *g)
{
    struct section_state states[DBR_RIG_SECTIONS_MAX];

    if (!f->rig)
        return;
    count_sections(f, g, states);
    int dead = first_dead(f, states);
    if (dead < 0)
        return;
    int living = living_neighbour(f, states, dead);
    found->section = dead;
    if (states[dead].alive > 0)
        found_evidence(f, found, "in section \"%.40s\" others live on: look at what the silent ones "
                                 "share inside it", f->rig->sections[dead]);
    else if (living >= 0)
        found_evidence(f, found, "between \"%.40s\" (lives) and \"%.40s\" (silent): cable, "
                                 "connector or supply from one to the other",
                       f->rig->sections[living], f->rig->sections[dead]);
    else
        found_evidence(f, found, "section \"%.40s\" is silent as a whole", f->rig->sections[dead]);
}

bool rig_expects_speed(const struct findings *f, enum dbr_speed_kind kind)
{
    return f->rig && (f->rig->speed_kinds >> kind & 1u);
}
