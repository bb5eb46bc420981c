/*
 * compare_claims.h - whether those that were at odds over an address claim one in the recording
 * after: where nobody claims, no conflict can show.
 */
#ifndef DRAWBAR_DIAGNOSIS_COMPARE_CLAIMS_H
#define DRAWBAR_DIAGNOSIS_COMPARE_CLAIMS_H

#include "drawbar/compare.h"

bool claims_seen(const struct dbr_side *before, const struct dbr_side *after,
                 const struct dbr_finding *f);

#endif
