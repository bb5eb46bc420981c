/* writers.h - a recording as a file: candump text, or pcapng. */
#ifndef FARM_WRITERS_H
#define FARM_WRITERS_H

#include "farm/bytes.h"
#include "farm/recording.h"
#include "farm/scenario.h"

#define FARM_INTERFACE "can0"

/* The log form of candump, microseconds. */
void farm_write_candump(const struct farm_recording *r, struct farm_bytes *out);

/* pcapng, link type SocketCAN, nanoseconds. */
void farm_write_pcapng(const struct farm_recording *r, struct farm_bytes *out);

/* In the scenario's format, not compressed. */
void farm_write(const struct farm_scenario *s, const struct farm_recording *r,
                struct farm_bytes *out);

/* Whether the scenario's file is to be gzip'd: its name ends in ".gz". */
bool farm_is_zipped(const struct farm_scenario *s);

#endif
