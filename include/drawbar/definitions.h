/*
 * definitions.h - what messages mean: parameter groups as data, loaded from JSON.
 *
 * The definitions in decoders/ are built into the library; further ones are added
 * from files ("drawbar-messages/1", see DEVELOPERS.md). A definition states the
 * group, its signals with position, scaling and unit, the role that a signal
 * plays in the diagnosis, and worked examples that prove it. To teach the
 * program a message needs no C.
 *
 *     definitions = dbr_definitions_new(&error);           built-in ones included
 *     dbr_definitions_load_directory(definitions, "my-decoders", &error);
 *     message = dbr_definitions_find(definitions, pgn, address, NULL, &waits);
 *     value = dbr_signal_decode(&message->signals[0], data, length);
 *
 * All pointers inside belong to the definitions and live as long as they do.
 * Loading must be finished before any other thread uses them; reading is free.
 */
#ifndef DRAWBAR_DEFINITIONS_H
#define DRAWBAR_DEFINITIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/error.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

/* Unknown is never zero: `number` counts only where the status is valid. */
enum dbr_value_status {
    DBR_VALUE_VALID,
    DBR_VALUE_NOT_AVAILABLE, /* the sender says that it has no value */
    DBR_VALUE_ERROR,         /* the sender says that its value is in error */
    DBR_VALUE_OUT_OF_RANGE,  /* a reserved or parameter-specific code, or beyond the stated range */
    DBR_VALUE_ABSENT         /* the message is too short to hold it */
};

struct dbr_value {
    enum dbr_value_status status;
    double number; /* scaled, in the signal's unit */
    uint64_t raw;  /* as on the wire; 0 where absent */
};

/* One list yields codes and the names used in definition files. */
#define DBR_ROLES(X)                                                                               \
    X(NONE, "")                                                                                    \
    X(SPEED_WHEEL, "speed.wheel")                                                                  \
    X(SPEED_GROUND, "speed.ground")                                                                \
    X(SPEED_SELECTED, "speed.selected")                                                            \
    X(SPEED_VEHICLE, "speed.vehicle")                                                              \
    X(SPEED_NAVIGATION, "speed.navigation")                                                        \
    X(SPEED_GNSS, "speed.gnss")                                                                    \
    X(SPEED_IMPLEMENT, "speed.implement")                                                          \
    X(DISTANCE_WHEEL, "distance.wheel")                                                            \
    X(DISTANCE_GROUND, "distance.ground")                                                          \
    X(DISTANCE_SELECTED, "distance.selected")                                                      \
    X(DISTANCE_IMPLEMENT, "distance.implement")                                                    \
    X(DIRECTION_WHEEL, "direction.wheel")                                                          \
    X(DIRECTION_GROUND, "direction.ground")                                                        \
    X(DIRECTION_SELECTED, "direction.selected")                                                    \
    X(DIRECTION_IMPLEMENT, "direction.implement")                                                  \
    X(SELECTION_SOURCE, "selection.source")                                                        \
    X(WORK_STATE, "work.state")                                                                    \
    X(WORK_SETPOINT, "work.setpoint")                                                              \
    X(WORK_LOWERED, "work.lowered")                                                                \
    X(HITCH_POSITION, "hitch.position")                                                            \
    X(DRIVE_ENGAGED, "drive.engaged")                                                              \
    X(SECTIONS_ACTUAL, "sections.actual")                                                          \
    X(SECTIONS_SETPOINT, "sections.setpoint")                                                      \
    X(RATE_SETPOINT, "rate.setpoint")                                                              \
    X(RATE_ACTUAL, "rate.actual")                                                                  \
    X(METER_SPEED, "meter.speed")                                                                  \
    X(SUPPLY_VOLTAGE, "supply.voltage")                                                            \
    X(SUPPLY_KEY, "supply.key")

enum dbr_role {
#define DBR_ROLE_ENUM(name, words) DBR_ROLE_##name,
    DBR_ROLES(DBR_ROLE_ENUM)
#undef DBR_ROLE_ENUM
    DBR_ROLE_COUNT
};

const char *dbr_role_name(enum dbr_role role);

/* Which raw values are no measurement. */
enum dbr_special {
    DBR_SPECIAL_J1939,    /* by width, judged by the most significant byte (J1939-71 5.1.4) */
    DBR_SPECIAL_NMEA2000, /* all ones not available, all ones - 1 error; signed: largest positive */
    DBR_SPECIAL_NONE      /* every raw value is a value */
};

enum dbr_packing { DBR_PACKING_SINGLE, DBR_PACKING_MULTI, DBR_PACKING_FAST };

struct dbr_state_text {
    uint64_t raw;
    const char *text;
};

struct dbr_signal {
    const char *name;
    uint32_t spn;       /* suspect parameter number; 0 where it has none */
    uint16_t first_bit; /* from 0: (byte - 1) * 8 + (bit - 1) */
    uint8_t bits;       /* 1..64 */
    bool is_signed;     /* two's complement */
    enum dbr_special special;
    double scale; /* number = raw * scale + offset */
    double offset;
    const char *unit; /* "" where it has none */
    double si_factor; /* number * si_factor is in SI units (m/s, m, V); 1 for units that no role
                         demands. What takes part by its role is used as number * si_factor */
    bool has_range;   /* values beyond low .. high, in the signal's unit, are out of range */
    double low, high;
    enum dbr_role role;
    size_t state_count; /* texts for raw values; none for a measurement */
    const struct dbr_state_text *states;
    bool from_memory; /* the definition says so: the fact still needs a look into the standard */
};

/* When a definition holds: each member is -1 where it does not matter. */
struct dbr_when {
    int32_t address; /* source address */
    int32_t manufacturer_code, function, device_class, industry_group;
    int32_t identity, ecu_instance, function_instance, device_class_instance;
};

/* What an example says of one signal. */
struct dbr_expectation {
    size_t signal;                /* index into the message's signals */
    bool by_raw;                  /* a state: `raw` is expected, whatever its status */
    uint64_t raw;
    enum dbr_value_status status; /* else this status, and where valid this number */
    double number;
};

/* Whether a NAME fulfils all conditions on NAME fields, and how many there are. */
bool dbr_when_matches_name(const struct dbr_when *when, uint64_t name);
unsigned dbr_when_name_conditions(const struct dbr_when *when);

struct dbr_example {
    size_t length;
    const uint8_t *data;
    size_t expect_count;
    const struct dbr_expectation *expect;
    const char *source; /* where the example is published, or that it was worked by hand */
};

struct dbr_message {
    uint32_t pgn;
    const char *name;
    uint16_t length;     /* bytes; 0 variable */
    uint32_t period_ms;  /* as the standard states it; 0 where not periodic or it depends */
    enum dbr_packing packing;
    struct dbr_when when;
    size_t signal_count;
    const struct dbr_signal *signals;
    size_t example_count;
    const struct dbr_example *examples;
    const char *source; /* of the definition */
    bool from_memory;   /* as of a signal */
    bool read_apart;    /* the program reads it, or more of it than its signals */
    bool name_only;     /* no signals, and the definition says why */
    const char *file;   /* that it came from; a built-in one has its file name alone */
};

struct dbr_definitions;

/* The built-in definitions. NULL on failure (out of memory, or a broken build). */
struct dbr_definitions *dbr_definitions_new(struct dbr_error *error);
void dbr_definitions_free(struct dbr_definitions *definitions);

/*
 * Adds the definitions in `text` (`length` bytes). The same group with the same
 * `when` replaces an earlier one. On failure nothing is added, and the error
 * names `path`, line and column and quotes the line with a caret.
 */
int dbr_definitions_load_text(struct dbr_definitions *definitions, const char *path,
                              const char *text, size_t length, struct dbr_error *error);

/*
 * The same for a file, and for every *.json in a directory, in the order of their
 * names as bytes. A directory without any is an error. Where one file fails, those
 * before it stay added.
 */
int dbr_definitions_load_file(struct dbr_definitions *definitions, const char *path,
                              struct dbr_error *error);
int dbr_definitions_load_directory(struct dbr_definitions *definitions, const char *path,
                                   struct dbr_error *error);

size_t dbr_definitions_count(const struct dbr_definitions *definitions);
/* In the order of PGN, then of loading. */
const struct dbr_message *dbr_definitions_at(const struct dbr_definitions *definitions,
                                             size_t index);

/*
 * The definition in force for a group from `address`, whose NAME is `*name`
 * (NULL: not known). The one with the most conditions wins. NULL where there is
 * none; then `*waits_for_name` (may be NULL) is the definition that would hold
 * if the NAME were known and matched, or NULL.
 */
const struct dbr_message *dbr_definitions_find(const struct dbr_definitions *definitions,
                                               uint32_t pgn, uint8_t address,
                                               const uint64_t *name,
                                               const struct dbr_message **waits_for_name);

/* Decodes one signal of a message's data. */
struct dbr_value dbr_signal_decode(const struct dbr_signal *signal, const uint8_t *data,
                                   size_t length);

/* The least and the greatest value that its bits can carry, in its unit; its `range` aside. */
void dbr_signal_limits(const struct dbr_signal *signal, double *low, double *high);

/* "valid", "not_available", ... as in reports and definitions. Static storage. */
const char *dbr_value_status_name(enum dbr_value_status status);

/* The text of a raw value, or NULL. */
const char *dbr_signal_state(const struct dbr_signal *signal, uint64_t raw);

DBR_API_END

#endif
