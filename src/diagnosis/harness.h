/*
 * harness.h - what the silences of ECUs say about their cable.
 */
#ifndef DRAWBAR_DIAGNOSIS_HARNESS_H
#define DRAWBAR_DIAGNOSIS_HARNESS_H

#include "diagnosis/findings.h"
#include "diagnosis/silences.h"

/* Says how the silent ones came back: what that tells of supply and bus lines. */
void harness_return(struct findings *f, struct found *found, const struct silence_group *g);

/* An ECU that comes and goes: how often, and what goes along with it. */
void harness_rhythm(struct findings *f, struct found *found, const struct dbr_ecu *ecu);

/* Whether a link of an implement's chain held at a moment, as when a silence began. */
bool harness_held_at(const struct findings *f, uint8_t interface, enum dbr_link link,
                     int64_t at_ns);

/* Error frames from a second before a silence until the ECU is missed; NULL: none. */
const struct dbr_spell *harness_errors(const struct findings *f, const struct dbr_ecu *ecu,
                                       int64_t silent_ns);

#endif
