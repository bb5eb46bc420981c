/* compare_claims.c - see compare_claims.h. */
#include "diagnosis/compare_claims.h"

#include <string.h>

#include "diagnosis/compare_places.h"

/* ISO 11783-5: instances of ECU and function (bits 32..39) and of the device class (56..59). They
 * are what is set anew where two units of one kind get into each other's way. */
#define INSTANCES UINT64_C(0x0F0000FF00000000)

/* The address under which no address is claimed (SAE J1939-81). */
#define NULL_ADDRESS 254

static bool same_unit(uint64_t a, uint64_t b)
{
    return ((a ^ b) & ~INSTANCES) == 0;
}

/* The unit has an address in the recording after, whichever. */
static bool unit_claims(const struct dbr_side *after, uint8_t interface, uint64_t name)
{
    for (size_t i = 0; i < after->history->ecu_count; i++) {
        const struct dbr_ecu *ecu = &after->history->ecus[i];
        for (size_t n = 0; n < ecu->name_count; n++)
            if (ecu->interface == interface && ecu->address != NULL_ADDRESS &&
                same_unit(ecu->names[n], name))
                return true;
    }
    return false;
}

static bool address_claimed(const struct dbr_side *after, uint8_t interface, int address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(after->history, interface, (uint8_t)address);

    return ecu && ecu->name_count > 0;
}

/* Has the one that lost the contest an address now? Its rival may have been taken away. Of one
 * whose NAME nobody saw only the address is known. */
static bool has_its_address(const struct dbr_side *after, const struct dbr_conflict *c)
{
    if (!c->newcomer_wins)
        return unit_claims(after, c->interface, c->newcomer);
    if (c->incumbent_named)
        return unit_claims(after, c->interface, c->incumbent);
    return address_claimed(after, c->interface, c->address);
}

static bool contest_over(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    for (size_t i = 0; i < before->history->conflict_count; i++) {
        const struct dbr_conflict *c = &before->history->conflicts[i];
        if (c->interface == f->interface && c->address == f->address &&
            !has_its_address(after, c))
            return false;
    }
    return true;
}

static bool loser_claims(const struct dbr_side *before, const struct dbr_side *after,
                         const struct dbr_finding *f)
{
    for (size_t i = 0; i < before->history->cannot_claim_count; i++) {
        const struct dbr_cannot_claim *c = &before->history->cannot_claims[i];
        if (c->interface == f->interface && c->first_ns == f->start_ns &&
            !unit_claims(after, c->interface, c->name))
            return false;
    }
    return true;
}

/* Each that a finding names: the one, or all of several. */
static bool members_claim(const struct dbr_side *before, const struct dbr_side *after,
                          const struct dbr_finding *f)
{
    size_t claimed = 0;

    for (size_t i = 0; i < place_members(f); i++) {
        struct place one = place_member(before, f, i);
        bool found = false;
        for (size_t k = 0; k < after->history->ecu_count && !found; k++) {
            const struct dbr_ecu *ecu = &after->history->ecus[k];
            found = ecu->name_count > 0 &&
                    place_same(one, (struct place){ecu->address, ecu});
        }
        claimed += found;
    }
    return claimed == place_members(f);
}

static bool both_claim(const struct dbr_side *after, const struct dbr_finding *f)
{
    for (size_t i = 0; i < f->address_count; i++)
        if (!address_claimed(after, (uint8_t)f->interface, f->addresses[i]))
            return false;
    return true;
}

bool claims_seen(const struct dbr_side *before, const struct dbr_side *after,
                 const struct dbr_finding *f)
{
    if (strcmp(f->code, "address-conflict") == 0 || strcmp(f->code, "address-shared") == 0)
        return contest_over(before, after, f);
    if (strcmp(f->code, "address-cannot-claim") == 0)
        return loser_claims(before, after, f);
    if (strcmp(f->code, "name-duplicate") == 0)
        return both_claim(after, f);
    return members_claim(before, after, f);
}
