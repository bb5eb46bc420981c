/* roots.h - which root cause explains a finding, for reports that tell it there. */
#ifndef DRAWBAR_REPORTING_ROOTS_H
#define DRAWBAR_REPORTING_ROOTS_H

#include "drawbar/diagnosis.h"

/*
 * For each finding the position of the first root cause that explains it,
 * directly or through others; `root_cause_count` where none does. The caller
 * frees it; NULL where memory is out.
 */
size_t *roots_find(const struct dbr_diagnosis *d);

/*
 * Findings of one kind share their lines: the position of a root before this one
 * that has told the same already, or `position` where none has.
 */
size_t roots_told_cautions(const struct dbr_diagnosis *d, size_t position);
size_t roots_told_checks(const struct dbr_diagnosis *d, size_t position);

#endif
