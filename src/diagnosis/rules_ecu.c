/*
 * rules_ecu.c - ECUs that fall silent or restart, messages that miss their beat, low supply.
 */
#include <math.h>

#include "diagnosis/harness.h"
#include "diagnosis/rules.h"
#include "diagnosis/rules_rig.h"
#include "diagnosis/silences.h"
#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

/* Contract, message-gaps. */
#define GAP_SHARE 0.05
#define GAP_INTERVALS 20u

#define EVIDENCE_SPELLS 4u

/* Severity by contract: a key cycle is a note, the first restart a warning, more a fault. */
static void judge_restarts_of(struct findings *f, const struct rule *rule, size_t ecu_index,
                              bool with_all)
{
    const struct dbr_history *h = f->history;
    const struct dbr_ecu *ecu = &h->ecus[ecu_index];
    struct found *found = NULL;

    for (size_t i = 0; i < h->restart_count; i++) {
        const struct dbr_restart *r = &h->restarts[i];
        if (r->ecu != ecu_index || r->with_all != with_all)
            continue;
        if (!found) {
            found = findings_add(f, rule);
            found_about(found, ecu->interface, ecu->address, (int32_t)60928);
            found_between(found, r->at_ns, r->at_ns, false);
            found_title(f, found, "%s restarted%s", word_ecu(f, ecu->interface, ecu->address),
                        with_all ? " as the key was turned" : "");
        } else {
            found->seen.count++;
            found->seen.end_ns = r->at_ns;
        }
        found->seen.severity = with_all ? DBR_NOTE : found->seen.count > 1 ? DBR_FAULT
                                                                           : DBR_WARNING;
        found_evidence(f, found, "claimed its address at %s, unasked", word_time(f, r->at_ns));
    }
}

void judge_ecu_restart(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->ecu_count; i++) {
        if (f->history->ecus[i].restarts == 0)
            continue;
        judge_restarts_of(f, rule, i, false);
        judge_restarts_of(f, rule, i, true);
    }
}

static void silence_times(struct findings *f, struct found *found, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < ecu->silences.count && i < EVIDENCE_SPELLS; i++)
        found_evidence(f, found, "silent %s (%.1f s)", word_span(f, &ecu->silences.items[i]),
                       (double)(ecu->silences.items[i].end_ns - ecu->silences.items[i].start_ns) /
                           1e9);
    found_evidence(f, found, "else one message every %.0f ms on average, %llu in all",
                   ecu->mean_interval_s * 1e3, (unsigned long long)ecu->frames);
}

/* One ECU alone: where it hangs, and what tells its supply, its connector and itself apart. */
static void alternatives(struct findings *f, struct found *found, const struct dbr_ecu *ecu)
{
    struct silence_group alone = {.interface = ecu->interface,
                                  .count = 1,
                                  .ecus = {ecu},
                                  .spells = {&ecu->silences.items[0]},
                                  .start_ns = ecu->silences.items[0].start_ns};

    rig_locate(f, found, &alone);
    if (!alone.spells[0]->open)
        harness_return(f, found, &alone);
    found_evidence(f, found, "its supply, its connector or the ECU itself: supply missing at its "
                             "connector points to fuse and cable, supply present to the bus lines "
                             "or the ECU");
}

/* Silent because somebody asked for it: nothing is broken. False where a silence is not. */
static bool all_ordered(struct findings *f, struct found *found, const struct dbr_ecu *ecu)
{
    const struct dbr_broadcast_stop *stop = NULL;

    for (size_t i = 0; i < ecu->silences.count; i++) {
        const struct dbr_broadcast_stop *one = silence_order(f, ecu, &ecu->silences.items[i]);
        if (!one && !silence_is_shutdown(f, ecu, &ecu->silences.items[i]))
            return false;
        stop = one ? one : stop;
    }
    if (!stop || ecu->silences.folded > 0)
        return false;
    found->seen.severity = DBR_NOTE;
    found_evidence(f, found, "%s asked for silence at %s (DM13): it obeys, and is not broken",
                   word_ecu(f, stop->interface, stop->requester), word_time(f, stop->start_ns));
    return true;
}

void judge_ecu_silent(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        const struct dbr_spells *s = &ecu->silences;
        if (s->count == 0 || (s->count == 1 && silence_is_shutdown(f, ecu, &s->items[0])))
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, ecu->interface, ecu->address, -1);
        found_during(found, s);
        found_title(f, found, "%s fell silent while the bus went on",
                    word_ecu(f, ecu->interface, ecu->address));
        silence_times(f, found, ecu);
        if (all_ordered(f, found, ecu))
            continue;
        alternatives(f, found, ecu);
        harness_rhythm(f, found, ecu);
    }
}

void judge_bus_off_suspected(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &f->history->ecus[i];
        for (size_t j = 0; j < ecu->silences.count; j++) {
            const struct dbr_spell *silence = &ecu->silences.items[j];
            const struct dbr_spell *errors = harness_errors(f, ecu, silence->start_ns);
            bool claimed = silence->count > 0;
            if (!errors || !claimed)
                continue;
            struct found *found = findings_add(f, rule);
            found_about(found, ecu->interface, ecu->address, -1);
            found_between(found, silence->start_ns, silence->end_ns, silence->open);
            found_title(f, found, "%s probably left the bus because of errors (bus-off)",
                        word_ecu(f, ecu->interface, ecu->address));
            found_evidence(f, found, "silent %s, and a new address claim on its return",
                           word_span(f, silence));
            found_evidence(f, found, "%llu error frames %s",
                           (unsigned long long)errors->count, word_span(f, errors));
        }
    }
}

static void judge_gaps_of(struct findings *f, const struct rule *rule,
                          const struct dbr_stream *stream)
{
    const struct dbr_cadence *c = &stream->cadence;
    struct found *found = findings_add(f, rule);

    found_about(found, stream->interface, stream->address, (int32_t)stream->pgn);
    found_between(found, c->first_over_ns, stream->last_ns, true);
    found->seen.count = c->over_three;
    found_title(f, found, "group %u from %s misses its beat", stream->pgn,
                word_ecu(f, stream->interface, stream->address));
    found_evidence(f, found, "%llu of %llu intervals are longer than 3 periods of %.0f ms, the "
                             "longest %.0f ms", (unsigned long long)c->over_three,
                   (unsigned long long)c->intervals, c->period_s * 1e3, c->longest_s * 1e3);
    if (stream->message)
        found_evidence(f, found, "the group is: %.80s", stream->message->name);
}

/* Groups that come as they are needed, or in pieces: their pauses mean nothing. */
static bool has_no_beat(const struct dbr_stream *stream)
{
    static const uint32_t groups[] = {
        DBR_PGN_PROCESS_DATA, DBR_PGN_ACKNOWLEDGE,  DBR_PGN_REQUEST, DBR_PGN_ADDRESS_CLAIMED,
        DBR_PGN_TRANSPORT_DATA, DBR_PGN_TRANSPORT_CONTROL, 50944 /* ETP data */, 51200 /* ETP */};

    for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++)
        if (stream->pgn == groups[i])
            return true;
    /* Groups of NMEA 2000 may be fast packets, several frames back to back; only a definition
     * tells which are not. */
    return stream->pgn > 0xFFFF &&
           !(stream->message && stream->message->packing == DBR_PACKING_SINGLE);
}

bool rule_judges_gaps(const struct dbr_stream *stream)
{
    return stream->broadcast && !has_no_beat(stream) && !isnan(stream->cadence.period_s) &&
           stream->cadence.intervals >= GAP_INTERVALS;
}

void judge_message_gaps(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->stream_count; i++) {
        const struct dbr_stream *stream = &f->history->streams[i];
        const struct dbr_cadence *c = &stream->cadence;
        if (rule_judges_gaps(stream) &&
            (double)c->over_three > GAP_SHARE * (double)c->intervals)
            judge_gaps_of(f, rule, stream);
    }
}

void judge_supply_low(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->supply_count; i++) {
        const struct dbr_supply *supply = &f->history->supplies[i];
        if (supply->low.count == 0)
            continue;
        struct found *found = findings_add(f, rule);
        found_about(found, supply->interface, supply->address, 65271);
        found_during(found, &supply->low);
        found_title(f, found, "supply voltage is low, down to %.1f V", supply->lowest_v);
        for (size_t j = 0; j < supply->low.count && j < EVIDENCE_SPELLS; j++)
            found_evidence(f, found, "below 11.0 V %s, lowest %.1f V, as %s reports it",
                           word_span(f, &supply->low.items[j]), supply->low.items[j].low,
                           word_ecu(f, supply->interface, supply->address));
        found_evidence(f, found, "highest in this recording: %.1f V", supply->highest_v);
    }
}
