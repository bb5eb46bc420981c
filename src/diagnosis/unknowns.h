/* unknowns.h - what a recording leaves open, and why. */
#ifndef DRAWBAR_DIAGNOSIS_UNKNOWNS_H
#define DRAWBAR_DIAGNOSIS_UNKNOWNS_H

#include "diagnosis/findings.h"

/* A list whose array the caller frees; its texts belong to the findings. */
struct dbr_lines unknowns_list(struct findings *f);

/* Labels of the ECUs of the rig of which the recording does not tell whether they are there; owned
 * as that list is. */
struct dbr_lines unknowns_untold(struct findings *f);

/* How to record so that the next recording tells more: only what this one lacks. */
struct dbr_lines unknowns_advice(struct findings *f);

#endif
