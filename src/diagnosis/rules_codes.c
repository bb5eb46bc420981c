/*
 * rules_codes.c - what ECUs say about themselves (DM1), and orders to be silent (DM13).
 *
 * A code is the ECU's own word, once per code and not per message. It is a warning: an ECU that
 * works on with old codes is common, and the maker decides what a code means. The red stop lamp
 * makes it a fault (contract).
 */
#include <stdio.h>

#include "diagnosis/advice_codes.h"
#include "diagnosis/causes_codes.h"
#include "diagnosis/rules.h"
#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

#define CLEARS_SHOWN 3u
#define HINTS_SHOWN 3u

/* "SPN 100 (engine oil pressure)", as far as it is known. */
static const char *word_parameter(struct findings *f, const struct dbr_trouble *t)
{
    char words[DBR_TROUBLE_WORDS_MAX];

    if (t->code.older_layout)
        return findings_text(f, "a code in an older layout, perhaps SPN %u", t->code.spn);
    if (dbr_trouble_words(words, sizeof words, f->history, t))
        return findings_text(f, "SPN %u, %s", t->code.spn, words);
    if (dbr_spn_is_maker(t->code.spn))
        return findings_text(f, "SPN %u, a number of the maker's own", t->code.spn);
    return findings_text(f, "SPN %u", t->code.spn);
}

static void code_reports(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    unsigned long long reports = t->reports;

    if (!f->history->timed) {
        found_evidence(f, found, "in %llu list%s of active codes (DM1)", reports,
                       reports == 1 ? "" : "s");
        return;
    }
    if (reports == 1)
        found_evidence(f, found, "in one list of active codes (DM1), at %s",
                       word_time(f, t->first_ns));
    else
        found_evidence(f, found, "in %llu lists of active codes (DM1), from %s to %s", reports,
                       word_time(f, t->first_ns), word_time(f, t->last_ns));
    if (t->from_start)
        found_evidence(f, found, "there from its first list on: when it came this recording cannot "
                                 "tell");
    else
        found_evidence(f, found, "came up during the recording, at %s", word_time(f, t->first_ns));
}

static void code_end(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    bool timed = f->history->timed;

    switch (t->end) {
    case DBR_TROUBLE_GONE:
        found_evidence(f, found, "went away%s%s: a list without it came", timed ? " at " : "",
                       timed ? word_time(f, t->gone_ns) : "");
        break;
    case DBR_TROUBLE_UNTOLD:
        found_evidence(f, found, "no list came after %s although the ECU went on: no longer active, "
                                 "or no longer told", word_time(f, t->last_ns));
        break;
    case DBR_TROUBLE_UNKNOWN:
        if (timed)
            found_evidence(f, found, "its ECU fell silent: whether the code went away this "
                                     "recording cannot tell");
        break;
    case DBR_TROUBLE_STAYS:
        break;
    }
    if (t->returns > 0)
        found_evidence(f, found, "went away and came back %llu time%s%s%s",
                       (unsigned long long)t->returns, t->returns == 1 ? "" : "s",
                       timed ? ", last at " : "", timed ? word_time(f, t->returned_ns) : "");
}

static void code_count(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    if (t->code.count == DBR_OCCURRENCES_UNKNOWN)
        found_evidence(f, found, "how often it occurred is not told");
    else if (t->first_count == t->code.count || t->first_count == DBR_OCCURRENCES_UNKNOWN)
        found_evidence(f, found, "occurrence count %u", t->code.count);
    else
        found_evidence(f, found, "occurrence count %u at first, %u at last", t->first_count,
                       t->code.count);
}

static void code_lamps(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    static const char *const words[DBR_LAMPS] = {"protect", "amber warning", "red stop",
                                                 "malfunction"};
    const char *list = "";

    for (size_t i = DBR_LAMPS; i-- > 0;) {
        bool flashes = t->lamps.flash[i] == DBR_FLASH_SLOW || t->lamps.flash[i] == DBR_FLASH_FAST;
        if (t->lamps.state[i] == DBR_LAMP_ON)
            list = findings_text(f, "%s%s%s%s", list, *list ? ", " : "", words[i],
                                 flashes ? " (flashes)" : "");
    }
    if (*list)
        found_evidence(f, found, "lamps on: %s%s", list,
                       t->alone ? "" : "; told for all codes of this ECU together");
}

/* What the number itself says: an older layout, a maker's own, another ECU. */
static void code_number(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    const uint8_t *raw = t->code.raw;

    if (t->code.older_layout) {
        found_evidence(f, found, "its conversion bit is set: which of the older layouts it is only "
                                 "the maker knows, and the SPN is not certain; bytes as sent: %02X "
                                 "%02X %02X %02X", raw[0], raw[1], raw[2], raw[3]);
        return;
    }
    if (dbr_spn_is_maker(t->code.spn))
        found_evidence(f, found, "the maker's list of codes says what this SPN stands for");
    if (!dbr_spn_is_address(t->code.spn))
        return;
    uint8_t address = (uint8_t)(t->code.spn - DBR_SPN_ADDRESS_FIRST);
    const struct dbr_ecu *ecu = dbr_history_ecu(f->history, t->interface, address);
    if (!ecu)
        found_evidence(f, found, "nothing from address %u is in this recording", address);
    else if (f->history->timed)
        found_evidence(f, found, "%s is in this recording, heard from %s to %s",
                       word_ecu(f, t->interface, address), word_time(f, ecu->first_ns),
                       word_time(f, ecu->last_ns));
}

/* Whether a request was about this code. */
static bool clears(const struct dbr_trouble_clear *c, const struct dbr_trouble *t)
{
    bool asked = c->interface == t->interface &&
                 (c->address == t->address || c->address == DBR_ADDRESS_GLOBAL);

    if (c->kind == DBR_CLEAR_ONE)
        return asked && c->active && c->code.spn == t->code.spn && c->code.fmi == t->code.fmi;
    return asked && c->kind == DBR_CLEAR_ACTIVE;
}

static void code_clears(struct findings *f, struct found *found, const struct dbr_trouble *t)
{
    static const char *const answers[] = {"done", "refused", "denied", "cannot respond now",
                                          "no answer"};
    const struct dbr_troubles *all = &f->history->troubles;
    size_t shown = 0;

    for (size_t i = 0; i < all->clear_count && shown < CLEARS_SHOWN; i++) {
        const struct dbr_trouble_clear *c = &all->clears[i];
        if (!clears(c, t))
            continue;
        bool timed = f->history->timed;
        found_evidence(f, found, "%s asked for active codes to be cleared%s%s: %s",
                       word_ecu(f, c->interface, c->requester), timed ? ", at " : "",
                       timed ? word_time(f, c->at_ns) : "", answers[c->answer]);
        shown++;
    }
}

static void judge_code(struct findings *f, const struct rule *rule, const struct dbr_trouble *t)
{
    struct found *found = findings_add(f, rule);
    bool stays = t->end == DBR_TROUBLE_STAYS;

    found_about(found, t->interface, t->address, (int32_t)DBR_PGN_DM1);
    found_between(found, t->first_ns,
                  stays ? f->history->end_ns
                        : t->end == DBR_TROUBLE_GONE ? t->gone_ns : t->last_ns, stays);
    found->seen.trouble = t;
    found->seen.count = 1 + t->returns;
    if (t->lamps.state[DBR_LAMP_RED] == DBR_LAMP_ON)
        found->seen.severity = DBR_FAULT;
    found_title(f, found, "%s reports %s: %s (FMI %u)", word_ecu(f, t->interface, t->address),
                word_parameter(f, t), dbr_fmi_words(t->code.fmi), t->code.fmi);
    code_reports(f, found, t);
    code_end(f, found, t);
    code_count(f, found, t);
    code_lamps(f, found, t);
    code_number(f, found, t);
    code_clears(f, found, t);
    found_checks(found, advice_for_code(&t->code));
}

void judge_fault_code_active(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->troubles.count; i++)
        if (!f->history->troubles.items[i].previously)
            judge_code(f, rule, &f->history->troubles.items[i]);
}

static bool meet(const struct found *a, const struct found *b)
{
    return a->seen.interface == b->seen.interface && a->seen.timed && b->seen.timed &&
           (a->seen.open || a->seen.end_ns >= b->seen.start_ns) &&
           (b->seen.open || b->seen.end_ns >= a->seen.start_ns);
}

static void hint_at_codes(struct findings *f, struct found *speed)
{
    size_t shown = 0;

    for (size_t i = 0; i < f->count && shown < HINTS_SHOWN; i++) {
        const struct found *code = f->items[i];
        const struct dbr_trouble *t = code->seen.trouble;
        if (!t || !code_may_tell_why(code, speed) || !meet(code, speed))
            continue;
        found_evidence(f, speed, "meanwhile this ECU reports SPN %u, %s (FMI %u): the maker's list "
                                 "of codes says whether that is about this speed",
                       t->code.spn, dbr_fmi_words(t->code.fmi), t->code.fmi);
        shown++;
    }
}

void codes_hint_at_speeds(struct findings *f)
{
    for (size_t i = 0; i < f->count; i++)
        if (f->items[i]->kind >= 0)
            hint_at_codes(f, f->items[i]);
}

void judge_broadcast_stopped(struct findings *f, const struct rule *rule)
{
    for (size_t i = 0; i < f->history->troubles.stop_count; i++) {
        const struct dbr_broadcast_stop *stop = &f->history->troubles.stops[i];
        bool everyone = stop->address == DBR_ADDRESS_GLOBAL;
        struct found *found = findings_add(f, rule);
        found_about(found, stop->interface, stop->requester, (int32_t)DBR_PGN_DM13);
        found_between(found, stop->start_ns, stop->end_ns, stop->open);
        if (!everyone)
            found_address(found, stop->address);
        found_title(f, found, "%s asked %s to stop broadcasting",
                    word_ecu(f, stop->interface, stop->requester),
                    everyone ? "all ECUs" : word_ecu(f, stop->interface, stop->address));
        found_evidence(f, found, "DM13 at %s, kept up by %llu reminders%s%s",
                       word_time(f, stop->start_ns), (unsigned long long)stop->reminders,
                       stop->open ? "" : ", until ", stop->open ? "" : word_time(f, stop->end_ns));
        found_evidence(f, found, "ECUs that fall silent then do as they were told");
    }
}
