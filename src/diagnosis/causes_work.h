/* causes_work.h - how an implement that puts nothing out and a speed that fails belong together. */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_WORK_H
#define DRAWBAR_DIAGNOSIS_CAUSES_WORK_H

#include "diagnosis/findings.h"

/*
 * Whether the implement that `work` is about may live by the speed that `speed` is about: its
 * own where it has one, else any of others; but none that was dead while it went on putting out.
 * Both are of one bus.
 */
bool lives_by_speed(const struct findings *f, const struct found *work, const struct found *speed);

#endif
