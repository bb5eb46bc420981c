/*
 * frame.h - one record of CAN traffic, and the fixed batch in which frames travel.
 *
 * Frames are plain values: no pointers, nothing to free. Whoever reads them
 * (src/reading) fills a batch that the caller owns; the batch is valid until the
 * next call that fills it.
 *
 * Identifier and flags follow the SocketCAN record (linux/can.h), with the three
 * flag bits taken out of the identifier and kept in `flags`.
 */
#ifndef DRAWBAR_FRAME_H
#define DRAWBAR_FRAME_H

#include <stddef.h>
#include <stdint.h>

#define DBR_STANDARD_ID_MAX 0x7FFu       /* 11 bits, ISO 11898-1 base format */
#define DBR_EXTENDED_ID_MAX 0x1FFFFFFFu  /* 29 bits, ISO 11898-1 extended format */
#define DBR_CLASSIC_DATA_MAX 8u          /* bytes, ISO 11898-1 classical frame */
#define DBR_FD_DATA_MAX 64u              /* bytes, ISO 11898-1 FD frame */

enum dbr_frame_flag {
    DBR_FRAME_EXTENDED = 1 << 0, /* 29-bit identifier */
    DBR_FRAME_REMOTE = 1 << 1,   /* remote request: `length` is what was asked for, no data */
    DBR_FRAME_ERROR = 1 << 2,    /* SocketCAN error frame: `id` holds the error class bits */
    DBR_FRAME_FD = 1 << 3,       /* CAN FD frame */
    DBR_FRAME_BRS = 1 << 4,      /* FD: bit-rate switch */
    DBR_FRAME_ESI = 1 << 5,      /* FD: sender is error passive */
    DBR_FRAME_SENT = 1 << 6,     /* the recorder itself sent it */
    DBR_FRAME_COPY = 1 << 7      /* the same frame stands in the recording already: sent, then
                                    heard again. Counts as a record, not as bus traffic */
};

struct dbr_frame {
    int64_t at_ns;     /* from dbr_recording_next: since the first frame, never running backwards */
    uint32_t id;       /* 11 or 29 bits; in an error frame the error class bits */
    uint8_t length;    /* bytes of data, 0..64 */
    uint8_t flags;     /* enum dbr_frame_flag */
    uint8_t interface; /* index into dbr_recording_info.interfaces */
    uint8_t raw_dlc;   /* 9..15 where the recording kept such a code with 8 data bytes, else 0 */
    uint8_t data[DBR_FD_DATA_MAX]; /* bytes beyond `length` are zero */
};

/* 512 frames are 40 KiB: they stay in the second-level cache of any machine of this century. */
#define DBR_BATCH_FRAMES 512u

struct dbr_batch {
    size_t count;    /* frames that are filled in */
    size_t capacity; /* frames to fill at most, 1..DBR_BATCH_FRAMES; set by the caller */
    struct dbr_frame frames[DBR_BATCH_FRAMES];
    uint16_t bits[DBR_BATCH_FRAMES]; /* how long each occupies the bus, in bit times, with stuff bits
                                        and intermission (ISO 11898-1); where it was asked for */
};

#endif
