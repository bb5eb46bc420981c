/*
 * compare_waits.h - what comes and goes: how long the recording before had to wait for it.
 */
#ifndef DRAWBAR_DIAGNOSIS_COMPARE_WAITS_H
#define DRAWBAR_DIAGNOSIS_COMPARE_WAITS_H

#include "drawbar/compare.h"

/*
 * The longest time without a thing that was not there all along: until it first came, or from one
 * time to the next. A recording after that is shorter says nothing about it. 0: what shows as soon
 * as it is asked for.
 */
int64_t compare_wait_ns(const struct dbr_side *before, const struct dbr_finding *f);

#endif
