/*
 * sighting.h - one frame or one whole message with all that is known about where it belongs.
 */
#ifndef DRAWBAR_TRACKING_SIGHTING_H
#define DRAWBAR_TRACKING_SIGHTING_H

#include "drawbar/can_id.h"
#include "drawbar/tracking.h"
#include "drawbar/transport.h"

struct bus;
struct ecu;
struct stream;

struct sighting {
    const struct dbr_frame *frame; /* of a message in several frames: its time and interface alone */
    int64_t now_ns;
    struct dbr_can_id id;          /* of the message: its own group, sender and destination */
    enum dbr_carrier carrier;
    const uint8_t *data;           /* of the whole message; valid during the call */
    size_t length;                 /* bytes */
    struct bus *bus;
    struct ecu *ecu;       /* NULL for frames from the null address and beyond the ceiling */
    struct stream *stream; /* NULL beyond the ceiling */
};

/* A decoded signal that plays a role in the diagnosis. */
struct role_value {
    enum dbr_role role;
    enum dbr_value_status status;
    double si;        /* in SI units; counts only where valid */
    uint64_t raw;
    uint16_t element; /* device element of process data, else 0 */
    uint16_t ddi;     /* of process data, else 0 */
    bool by_mass;     /* a rate in kg/m2 */
    uint8_t subject;  /* address that it is about: of an implement where its controller speaks */
};

#endif
