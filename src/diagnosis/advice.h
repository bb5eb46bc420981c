/*
 * advice.h - next checks and cautions, as data.
 *
 * Checks stand in the order in which a technician makes them: look, wiggle,
 * measure, swap; cheap and safe first. Electrical values: see advice.c. Lists
 * end with NULL.
 */
#ifndef DRAWBAR_DIAGNOSIS_ADVICE_H
#define DRAWBAR_DIAGNOSIS_ADVICE_H

extern const char *const check_speed_sensor[];
extern const char *const check_speed_missing[];
extern const char *const check_speed_message[];
extern const char *const check_speed_erratic[];
extern const char *const check_scale[];
extern const char *const check_distance[];
extern const char *const check_direction[];
extern const char *const check_selection[];
extern const char *const check_conflict[];
extern const char *const check_cannot_claim[];
extern const char *const check_unclaimed[];
extern const char *const check_duplicate[];
extern const char *const check_restart[];
extern const char *const check_ecu_silent[];
extern const char *const check_section[];
extern const char *const check_bus_off_suspected[];
extern const char *const check_gaps[];
extern const char *const check_supply[];
extern const char *const check_bus_off[];
extern const char *const check_bus_errors[];
extern const char *const check_acknowledge[];
extern const char *const check_load[];
extern const char *const check_foreign[];
extern const char *const check_controller[];
extern const char *const check_rate[];
extern const char *const check_description[];
extern const char *const check_coverage[];
extern const char *const check_transfer[];
extern const char *const check_rejected[];
extern const char *const check_clock[];
extern const char *const check_recorder[];
extern const char *const check_power[]; /* instead: the bus was without power */
extern const char *const check_error_frames[];

extern const char *const caution_none[];
extern const char *const caution_machine[];  /* hands near wheels, belts, booms, cables */
extern const char *const caution_driving[];  /* a test that needs a drive */
extern const char *const caution_electric[]; /* work on supply and battery */
extern const char *const caution_meters[];   /* meters and fans that start by themselves */

/* Whom or what a finding is about, as far as it changes what to do. */
enum advice_context {
    CONTEXT_WHEEL,      /* speed of the tractor's wheels or gearbox */
    CONTEXT_RADAR,      /* ground speed by a radar */
    CONTEXT_SATELLITES, /* speed by satellites */
    CONTEXT_IMPLEMENT,  /* an implement's own sensor or ECU */
    CONTEXT_OTHER
};

struct advice {
    const char *code; /* of the finding */
    enum advice_context context;
    const char *const *checks;
    const char *const *cautions; /* NULL: as the rule has them */
};

/* Advice that fits the context better than the rule's own; NULL: none. */
const struct advice *advice_find(const char *code, enum advice_context context);

#endif
