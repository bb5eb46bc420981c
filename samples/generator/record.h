/* record.h - writes a scenario as a recording; the ending of the name tells the form. */
#ifndef SAMPLES_RECORD_H
#define SAMPLES_RECORD_H

#include "faults.h"

/* Writes to `path`. 0, or -1 with errno set. */
int record_scenario(const struct scenario *scenario, const char *path);

#endif
