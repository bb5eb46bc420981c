/*
 * causes_work.h - how an implement belongs to the speed and to the controller that it lives by, and
 * a speed to the starts of its ECU.
 */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_WORK_H
#define DRAWBAR_DIAGNOSIS_CAUSES_WORK_H

#include "diagnosis/findings.h"

/*
 * Whether the implement that `work` is about may live by the speed that `speed` is about: its
 * own where it has one, else any of others; but none that was dead while it went on putting out.
 * Both are of one bus.
 */
bool lives_by_speed(const struct findings *f, const struct found *work, const struct found *speed);

/* Whether a finding is about the task controller of the implement that `work` is about. */
bool is_about_controller(const struct findings *f, const struct found *about,
                         const struct found *work);

/* Whether a finding bears the address of an implement that has a chain. */
bool is_of_implement(const struct findings *f, const struct found *found);

/* Whether each time at which a speed was lost or not available belongs to a start of its ECU that
 * no key explains: it went down, and came back. */
bool goes_with_restarts(const struct findings *f, const struct found *speed);

#endif
