/*
 * compare_shown.h - could the recording after have shown again what the one before did?
 */
#ifndef DRAWBAR_DIAGNOSIS_COMPARE_SHOWN_H
#define DRAWBAR_DIAGNOSIS_COMPARE_SHOWN_H

#include "drawbar/compare.h"

/* Why the recording after cannot tell that a finding is gone; NULL: it can. Static storage. */
const char *compare_cannot_tell(const struct dbr_side *before, const struct dbr_side *after,
                                const struct dbr_finding *f);

#endif
