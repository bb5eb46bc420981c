/*
 * recorder.h - the recorder's CAN controller: what it hears, and its error counters.
 *
 * It hears every frame on the bus, its own too, until it is bus-off. Error
 * frames have the form that the Linux kernel gives them (linux/can/error.h).
 */
#ifndef FARM_RECORDER_H
#define FARM_RECORDER_H

#include "farm/bus.h"
#include "farm/recording.h"

struct farm_recorder {
    struct farm_recording *out; /* borrowed */
    unsigned transmit_errors;
    bool bus_off;
    int64_t restart_ns; /* when the driver puts it on the bus again */
};

/* A frame was on the bus; `own` where the recorder sent it, failed or not. */
void farm_recorder_hear(struct farm_recorder *r, const struct farm_transfer *transfer, bool own);

/* Restarts the controller when it is time. */
void farm_recorder_tick(struct farm_recorder *r, int64_t now_ns);

#endif
