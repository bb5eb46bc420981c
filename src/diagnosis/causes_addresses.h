/* causes_addresses.h - how findings about many addresses belong together. */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_ADDRESSES_H
#define DRAWBAR_DIAGNOSIS_CAUSES_ADDRESSES_H

#include "diagnosis/findings.h"

/* Most addresses that never claimed are among those whose requests one ECU refused; the requests of
 * the others the recorder may have lost. */
bool refused_most(const struct found *refusal, const struct found *unclaimed);

#endif
