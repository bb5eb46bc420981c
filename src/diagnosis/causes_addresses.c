/* causes_addresses.c - see causes_addresses.h. */
#include "diagnosis/causes_addresses.h"

#define MANY 3u /* refused originators: then they, and no single transfer, are the matter */

static bool is_among(const struct found *of, int address)
{
    for (size_t i = 0; i < of->seen.address_count; i++)
        if (of->seen.addresses[i] == address)
            return true;
    return false;
}

bool refused_most(const struct found *refusal, const struct found *unclaimed)
{
    const struct dbr_finding *u = &unclaimed->seen;
    size_t refused = 0;

    if (refusal->seen.address_count < MANY)
        return false;
    if (u->address_count == 0)
        return is_among(refusal, u->address);
    for (size_t i = 0; i < u->address_count; i++)
        refused += is_among(refusal, u->addresses[i]);
    return 2 * refused > u->address_count;
}
