/*
 * findings.h - findings while they are being made, and the memory that holds their texts.
 *
 * A rule makes a finding, says whom and when it concerns, and adds lines of
 * evidence:
 *
 *     struct found *found = findings_add(f, rule);
 *     found_about(found, ecu->interface, ecu->address, -1);
 *     found_during(found, &ecu->silences);
 *     found_title(f, found, "%s fell silent", label);
 *     found_evidence(f, found, "last heard at %s", when);
 *
 * Out of memory is remembered in `failed` and asked for once, at the end; until
 * then, as beyond the ceiling, findings_add gives one that nobody will read.
 */
#ifndef DRAWBAR_DIAGNOSIS_FINDINGS_H
#define DRAWBAR_DIAGNOSIS_FINDINGS_H

#include "drawbar/diagnosis.h"

#define EVIDENCE_MAX 16u
#define CAUSES_MAX 16u

struct rule;

struct found {
    struct dbr_finding seen;
    const struct rule *rule;
    const char *evidence[EVIDENCE_MAX];
    size_t cause_count;
    struct found *causes[CAUSES_MAX];
    int kind;    /* of a speed source, enum dbr_speed_kind; else -1 */
    int section; /* of the rig; -1: not known */
    bool waited_in_vain; /* of a transfer: it failed because somebody did not answer */
    enum dbr_severity weight; /* its own severity, or that of the worst that follows from it */
    size_t index; /* in the report; set when they are in order */
    size_t cause_indices[CAUSES_MAX];
};

struct text_block;

struct findings {
    const struct dbr_history *history;
    const struct dbr_recording_info *info;
    enum dbr_units units;
    const struct dbr_rig *rig; /* NULL: none */
    size_t count;
    struct found *items[DBR_FINDINGS_MAX];
    struct found unread;
    uint64_t dropped; /* beyond the ceiling */
    struct text_block *texts;
    bool failed; /* no memory */
};

/* A new finding of a rule, with its code, severity, checks and cautions; never NULL. */
struct found *findings_add(struct findings *f, const struct rule *rule);

/* Whom it is about; -1 where there is none. */
void found_about(struct found *found, int interface, int address, int32_t pgn);

/* One interval, or one moment (both ends the same). */
void found_between(struct found *found, int64_t start_ns, int64_t end_ns, bool open);

/* From the first of the spells to the end of the last; counts them. */
void found_during(struct found *found, const struct dbr_spells *spells);

/* Adds an address to those it concerns beside the first. */
void found_address(struct found *found, uint8_t address);

void found_title(struct findings *f, struct found *found, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void found_evidence(struct findings *f, struct found *found, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Checks and cautions (ending with NULL) that fit better than those of the rule. */
void found_checks(struct found *found, const char *const *checks);
void found_cautions(struct found *found, const char *const *cautions);

/* Once it is known whom it is about: checks and cautions that fit (advice.h). */
void found_advise(const struct findings *f, struct found *found);

/* Text that lives as long as the findings. Never NULL. */
const char *findings_text(struct findings *f, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

void findings_release(struct findings *f);

#endif
