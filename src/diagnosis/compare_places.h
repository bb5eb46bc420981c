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

uint64_t place_task(uint64_t name);
bool place_same_ecu(const struct dbr_ecu *a, const struct dbr_ecu *b);

struct place place_at(const struct dbr_side *side, int interface, int address);
struct place place_of(const struct dbr_side *side, const struct dbr_finding *f);
bool place_same(struct place a, struct place b);

size_t place_members(const struct dbr_finding *f);
struct place place_member(const struct dbr_side *side, const struct dbr_finding *f, size_t i);

bool place_is_it(const struct dbr_side *before, const struct dbr_side *after,
           const struct dbr_finding *f, uint8_t interface, uint8_t address);

#endif
