/*
 * scenario.h - what happens in one recording: how the tractor is driven, and what breaks.
 *
 * All of it is data. The simulation (simulation.h) asks it what holds at a
 * moment. Times are milliseconds from key-on; the recorder runs from then on.
 */
#ifndef FARM_SCENARIO_H
#define FARM_SCENARIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FARM_FAULTS_MAX 8u
#define FARM_FOREVER    INT32_MAX /* end of a fault that is never repaired */
#define FARM_BINS       2u

/* The ECUs of the machine, in the order in which ecus.c lists their designs. */
enum farm_unit {
    FARM_UNIT_TRACTOR,
    FARM_UNIT_ENGINE,
    FARM_UNIT_GNSS,
    FARM_UNIT_CONTROLLER, /* task controller */
    FARM_UNIT_SPREADER,   /* belt controller on the spreader's frame */
    FARM_UNIT_WEIGHER,
    FARM_UNIT_LEFT_BOOM,
    FARM_UNIT_RIGHT_BOOM,
    FARM_UNIT_ADD_ON,   /* flow sensor fitted later; there only with FARM_FAULT_UNIT_ADDED */
    FARM_UNIT_RECORDER, /* there only where the recorder also sends */
    FARM_UNIT_COUNT
};

enum farm_sensor {
    FARM_SENSOR_WHEEL, /* driven wheels of the tractor */
    FARM_SENSOR_RADAR, /* under the tractor */
    FARM_SENSOR_AXLE,  /* rolling axle of the spreader */
    FARM_SENSOR_GNSS,
    FARM_SENSOR_COUNT
};

enum farm_fault_kind {
    FARM_FAULT_NONE,
    FARM_FAULT_READS_ZERO,        /* sensor: the unit sees no pulses */
    FARM_FAULT_NOT_AVAILABLE,     /* sensor: the unit knows that it has no value */
    FARM_FAULT_FROZEN,            /* sensor: repeats what it read last */
    FARM_FAULT_SCALED,            /* sensor: reads `magnitude` times the truth */
    FARM_FAULT_MESSAGE_STOPS,     /* unit: no longer sends `pgn` */
    FARM_FAULT_POWER_LOST,        /* unit: silent; restarts when power returns */
    FARM_FAULT_UNIT_ADDED,        /* the add-on is plugged in; its address is taken already */
    FARM_FAULT_RECORDER_DISTURBED /* whatever the recorder sends is destroyed */
};

struct farm_fault {
    enum farm_fault_kind kind;
    int32_t start_ms, end_ms; /* from start, up to but without end */
    enum farm_sensor sensor;  /* of a sensor fault */
    enum farm_unit unit;      /* of a unit fault */
    uint32_t pgn;             /* of FARM_FAULT_MESSAGE_STOPS */
    double magnitude;         /* of FARM_FAULT_SCALED */
};

/* What the driver wants from a moment on, until the next step. */
struct farm_drive_step {
    int32_t at_ms;
    double speed_mps;
    double hitch_percent; /* 0 down, 100 up; below 30 the implement counts as lowered */
    bool pto;             /* drive of the spreader engaged */
    bool in_field;        /* over ground that is to be spread */
    double turn_radius_m; /* 0: straight on */
};

enum farm_format { FARM_FORMAT_CANDUMP, FARM_FORMAT_PCAPNG };

struct farm_scenario {
    const char *file; /* name of the recording; ".gz" at its end means compressed */
    enum farm_format format;
    uint64_t seed;
    int32_t duration_ms;
    const struct farm_drive_step *drive; /* borrowed; in order of time, the first at 0 */
    size_t drive_count;
    double rate_kg_per_m2[FARM_BINS]; /* set-points of the two bins */
    bool description_stored;          /* the task controller knows the spreader from before */
    bool axle_unplugged;              /* the fault of the axle sensor is one of its supply, which
                                         the belt controller notices and reports */
    bool recorder_sends;              /* it asks the tractor for the time once a second */
    struct farm_fault faults[FARM_FAULTS_MAX];
};

/* The step of the drive that holds at a moment. */
const struct farm_drive_step *farm_drive_at(const struct farm_scenario *s, int64_t now_ns);

/* The fault of a sensor at a moment; NULL where it is sound. */
const struct farm_fault *farm_sensor_fault(const struct farm_scenario *s, enum farm_sensor sensor,
                                           int64_t now_ns);

/* Whether a unit has its supply. */
bool farm_has_power(const struct farm_scenario *s, enum farm_unit unit, int64_t now_ns);

/* Whether a unit still sends a group. */
bool farm_sends_group(const struct farm_scenario *s, enum farm_unit unit, uint32_t pgn,
                      int64_t now_ns);

/* Whether what the recorder sends is destroyed. */
bool farm_recorder_disturbed(const struct farm_scenario *s, int64_t now_ns);

/* The recordings in samples/ (scenarios.c). */
extern const struct farm_scenario farm_scenarios[];
extern const size_t farm_scenario_count;

#endif
