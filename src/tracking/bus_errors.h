/* bus_errors.h - what the error frames of one bus add up to. */
#ifndef DRAWBAR_TRACKING_BUS_ERRORS_H
#define DRAWBAR_TRACKING_BUS_ERRORS_H

#include "tracking/buses.h"

void bus_error_frame(struct bus *b, const struct dbr_frame *frame);
void bus_errors_finish(struct bus *b, int64_t end_ns);

#endif
