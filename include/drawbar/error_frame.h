/*
 * error_frame.h - what a SocketCAN error frame tells about the bus.
 *
 * An error frame is a message of the recorder's own CAN controller, written into
 * the recording between the data frames. Source of every code: the Linux header
 * linux/can/error.h.
 */
#ifndef DRAWBAR_ERROR_FRAME_H
#define DRAWBAR_ERROR_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/frame.h"

DBR_API_BEGIN

enum dbr_error_class { /* bits of the identifier */
    DBR_ERROR_CLASS_TX_TIMEOUT = 0x001,
    DBR_ERROR_CLASS_LOST_ARBITRATION = 0x002,
    DBR_ERROR_CLASS_CONTROLLER = 0x004,
    DBR_ERROR_CLASS_PROTOCOL = 0x008,
    DBR_ERROR_CLASS_TRANSCEIVER = 0x010,
    DBR_ERROR_CLASS_NO_ACK = 0x020,
    DBR_ERROR_CLASS_BUS_OFF = 0x040,
    DBR_ERROR_CLASS_BUS_ERROR = 0x080,
    DBR_ERROR_CLASS_RESTARTED = 0x100,
    DBR_ERROR_CLASS_COUNTERS = 0x200
};

enum dbr_controller_state { /* the state that an error frame reports; the most severe of its bits */
    DBR_CONTROLLER_UNSAID,
    DBR_CONTROLLER_ACTIVE,
    DBR_CONTROLLER_WARNING, /* an error counter reached 96 */
    DBR_CONTROLLER_PASSIVE, /* an error counter reached 128 */
    DBR_CONTROLLER_OFF      /* transmit error counter passed 255 */
};

enum dbr_error_kind { /* protocol violations, most telling first; one frame may carry several */
    DBR_ERROR_KIND_BIT,
    DBR_ERROR_KIND_FORM,
    DBR_ERROR_KIND_STUFF,
    DBR_ERROR_KIND_BIT0,
    DBR_ERROR_KIND_BIT1,
    DBR_ERROR_KIND_OVERLOAD,
    DBR_ERROR_KIND_ACTIVE, /* announcement of an active error flag */
    DBR_ERROR_KIND_UNSPECIFIED,
    DBR_ERROR_KIND_ACK,    /* nobody acknowledged: class, or located in the ACK slot */
    DBR_ERROR_KIND_COUNT
};

#define DBR_ERROR_PLACE_UNSPECIFIED 0x00u
#define DBR_ERROR_PLACE_ACK 0x19u
#define DBR_ERROR_PLACE_ACK_DELIMITER 0x1Bu

struct dbr_error_report {
    uint32_t classes;                 /* enum dbr_error_class bits */
    enum dbr_controller_state state;
    bool overflow;                    /* the controller lost frames: receive or transmit buffer full */
    uint32_t kinds;                   /* bit 1 << enum dbr_error_kind */
    bool on_transmission;             /* the error happened while the recorder was sending */
    uint8_t place;                    /* location code, DBR_ERROR_PLACE_* or another; 0 unspecified */
    uint8_t transceiver;              /* wiring code of the transceiver, 0 unspecified */
    bool counters_present;            /* class says so, or an older driver filled the bytes */
    uint8_t transmit_errors;          /* transmit error counter, where present */
    uint8_t receive_errors;           /* receive error counter, where present */
};

/* Reads an error frame; bytes beyond its length count as zero. */
struct dbr_error_report dbr_error_frame_read(const struct dbr_frame *frame);

/* "stuff error", ... in words. Static storage. */
const char *dbr_error_kind_words(enum dbr_error_kind kind);

/* Where in a frame the error was located ("ACK slot"); NULL for unspecified or unknown codes. */
const char *dbr_error_place_words(uint8_t place);

/* What a transceiver says about the wires ("CAN_H: no wire"); NULL for 0 and unknown codes. */
const char *dbr_error_transceiver_words(uint8_t code);

DBR_API_END

#endif
