/* faults.h - what can go wrong on the invented farm, as data. */
#ifndef SAMPLES_FAULTS_H
#define SAMPLES_FAULTS_H

#include <stddef.h>
#include <stdint.h>

enum fault_kind {
    FAULT_AXLE_DEAD,        /* the spreader's axle sensor has no supply: it reads 0 */
    FAULT_AXLE_MUTE,        /* the spreader stops sending its axle speed */
    FAULT_ECU_OFF,          /* the ECU at `address` loses its supply; boots again at the end */
    FAULT_NEWCOMER,         /* a second unit boots and claims `address`, with a lower NAME */
    FAULT_RECORDER_OFF      /* the recorder's controller leaves the bus; restarted at the end */
};

#define NEVER 1e9

struct fault {
    enum fault_kind kind;
    uint8_t address;
    double from_s, until_s;
};

#define FAULTS_MAX 8u

/* One recording: everything that makes it what it is. */
struct scenario {
    const char *file;    /* name of the recording; its ending tells the form */
    const char *shows;   /* one line */
    uint64_t seed;
    double seconds;
    size_t fault_count;
    struct fault faults[FAULTS_MAX];
};

extern const struct scenario scenarios[];
extern const size_t scenario_count;

#endif
