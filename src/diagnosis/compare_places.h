/*
 * compare_places.h - whom a finding is about, and who that is in another recording.
 */
#ifndef DRAWBAR_DIAGNOSIS_COMPARE_PLACES_H
#define DRAWBAR_DIAGNOSIS_COMPARE_PLACES_H

#include "drawbar/compare.h"

/* Whom a finding is about: an address, -1 for none, and its ECU where one was heard. */
struct place {
    int address;
    const struct dbr_ecu *ecu; /* or NULL */
};

/* One ECU in two recordings: the same NAME, or other hardware put in its place. */
bool place_same_ecu(const struct dbr_ecu *a, const struct dbr_ecu *b);

/* Whom an address is, and whom a finding is about; are two of them one? */
struct place place_at(const struct dbr_side *side, int interface, int address);
struct place place_of(const struct dbr_side *side, const struct dbr_finding *f);
bool place_same(struct place a, struct place b);

/* A finding without an address of its own may be about several: 1 or more. */
size_t place_members(const struct dbr_finding *f);
struct place place_member(const struct dbr_side *side, const struct dbr_finding *f, size_t i);

/* Whether an address of the recording after is what a finding of before was about. */
bool place_is_it(const struct dbr_side *before, const struct dbr_side *after,
                 const struct dbr_finding *f, uint8_t interface, uint8_t address);

#endif
