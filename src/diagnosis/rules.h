/*
 * rules.h - what the program can find: one rule a code, in one table (rules.c).
 */
#ifndef DRAWBAR_DIAGNOSIS_RULES_H
#define DRAWBAR_DIAGNOSIS_RULES_H

#include "diagnosis/findings.h"

/* Order of root causes of one severity: what is further up the chain comes first (contract). */
enum rule_group {
    GROUP_BUS,
    GROUP_ADDRESS,
    GROUP_ECU,
    GROUP_SUPPLY,
    GROUP_SPEED,
    GROUP_CONTROLLER,
    GROUP_WORK,
    GROUP_CODES,
    GROUP_TRANSFER,
    GROUP_RECORDING
};

struct rule {
    const char *code;
    enum dbr_severity severity; /* unless the rule says otherwise */
    enum rule_group group;
    void (*judge)(struct findings *f, const struct rule *rule);
    const char *const *checks;   /* next steps, first one first; ends with NULL */
    const char *const *cautions; /* ends with NULL */
};

extern const struct rule rules[];
extern const size_t rule_count;

/* rules_speed.c */
void judge_speed_missing(struct findings *f, const struct rule *rule);
void judge_speed_lost(struct findings *f, const struct rule *rule);
void judge_speed_not_available(struct findings *f, const struct rule *rule);
void judge_speed_error(struct findings *f, const struct rule *rule);
void judge_speed_stuck_zero(struct findings *f, const struct rule *rule);
void judge_speed_frozen(struct findings *f, const struct rule *rule);
void judge_speed_erratic(struct findings *f, const struct rule *rule);

/* rules_compare.c */
void judge_speed_disagrees(struct findings *f, const struct rule *rule);
bool rule_judges_scale(const struct dbr_speed_source *source); /* whether its ratio is known */
void judge_distance_disagrees(struct findings *f, const struct rule *rule);
void judge_direction_disagrees(struct findings *f, const struct rule *rule);
void judge_speed_source_changed(struct findings *f, const struct rule *rule);

/* rules_address.c */
void judge_address_conflict(struct findings *f, const struct rule *rule);
void judge_address_cannot_claim(struct findings *f, const struct rule *rule);
void judge_address_shared(struct findings *f, const struct rule *rule);
void judge_address_unclaimed(struct findings *f, const struct rule *rule);
void judge_name_duplicate(struct findings *f, const struct rule *rule);

/* rules_ecu.c */
void judge_ecu_restart(struct findings *f, const struct rule *rule);
void judge_ecu_silent(struct findings *f, const struct rule *rule);
void judge_harness_section_silent(struct findings *f, const struct rule *rule);
void judge_bus_off_suspected(struct findings *f, const struct rule *rule);
void judge_message_gaps(struct findings *f, const struct rule *rule);
bool rule_judges_gaps(const struct dbr_stream *stream); /* whether it has a beat to be judged by */
void judge_supply_low(struct findings *f, const struct rule *rule);

/* rules_work.c */
void judge_controller_lost(struct findings *f, const struct rule *rule);
void judge_rate_missing(struct findings *f, const struct rule *rule);
void judge_coverage_missing(struct findings *f, const struct rule *rule);

/* rules_device.c */
void judge_description_refused(struct findings *f, const struct rule *rule);

/* rules_transfer.c */
void judge_transfer_failed(struct findings *f, const struct rule *rule);

/* rules_codes.c */
void judge_fault_code_active(struct findings *f, const struct rule *rule);
void judge_broadcast_stopped(struct findings *f, const struct rule *rule);

/* rules_rig.c */
void judge_ecu_missing(struct findings *f, const struct rule *rule);

/* rules_bus.c */
void judge_bus_off(struct findings *f, const struct rule *rule);
void judge_bus_error_passive(struct findings *f, const struct rule *rule);
void judge_bus_error_warning(struct findings *f, const struct rule *rule);
void judge_bus_error_burst(struct findings *f, const struct rule *rule);
void judge_bus_no_acknowledge(struct findings *f, const struct rule *rule);
void judge_bus_load_high(struct findings *f, const struct rule *rule);
void judge_bus_foreign_frames(struct findings *f, const struct rule *rule);

/* rules_recording.c */
void judge_recording_rejected(struct findings *f, const struct rule *rule);
void judge_recording_truncated(struct findings *f, const struct rule *rule);
void judge_recording_clock_step(struct findings *f, const struct rule *rule);
void judge_recording_gap(struct findings *f, const struct rule *rule);
void judge_recording_no_error_frames(struct findings *f, const struct rule *rule);

/* causes.c: which finding explains which. */
void findings_link(struct findings *f);

/* Once all is judged: a dead speed, and what its ECU reports of itself under a maker's number. */
void codes_hint_at_speeds(struct findings *f);

#endif
