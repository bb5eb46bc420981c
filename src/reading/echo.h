/*
 * echo.h - frames that the recorder sent and heard again.
 *
 * A capture of all traffic of a host holds a frame that the host sends twice:
 * once on its way out, once as the controller hands it back after it was on the
 * bus. On the bus it was one frame. The second of such a pair gets the flag
 * DBR_FRAME_COPY.
 */
#ifndef DRAWBAR_READING_ECHO_H
#define DRAWBAR_READING_ECHO_H

#include <stdbool.h>
#include <stddef.h>

#include "drawbar/frame.h"

/* Frames that wait for their other half. A controller queues a handful; 64 leave room. */
#define ECHO_WAITING 64u

struct echo {
    size_t next;
    size_t count; /* 0 until the first sent frame: recordings without any cost nothing */
    struct dbr_frame waiting[ECHO_WAITING];
};

/* Marks `frame` where it is the second of a pair. True where it is. */
bool echo_mark(struct echo *e, struct dbr_frame *frame);

#endif
