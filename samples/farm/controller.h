/* controller.h - what the task controller in the cab remembers. */
#ifndef FARM_CONTROLLER_H
#define FARM_CONTROLLER_H

#include <stdbool.h>
#include <stdint.h>

#include "farm/packets.h"

/*
 * The six bytes of the language command (PGN 65039) on this machine: "en", 24 h
 * and decimal point, yyyymmdd, all metric. They are the localization label too.
 */
#define FARM_LANGUAGE_BYTES 'e', 'n', 0x4F, 0x04, 0x00, 0x00

struct farm_controller {
    bool stored;       /* it knows the spreader's device description */
    bool connected;    /* that description is active */
    bool wants_work;   /* the last set-point work state that was sent */
    int64_t client_ns; /* the spreader was last heard */
    int64_t start_ns;  /* it began to run */
    unsigned asked;    /* of the groups in which ECUs tell what they are */
    struct farm_receiving receiving;
};

#endif
