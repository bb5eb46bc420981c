/*
 * partings.h - silences that are none: the ECU goes on under another address, or went with
 * the key and came back with it.
 */
#ifndef DRAWBAR_TRACKING_PARTINGS_H
#define DRAWBAR_TRACKING_PARTINGS_H

#include "tracking/addresses.h"

/* Common practice, no source: the last ones need so long from the key to their first message. */
#define POWER_UP_NS (15 * NS_PER_S)

/* Common practice, no source: ECUs run on for some seconds after the key (ISO 11783-9 lets an
 * implement ask for 2 s of power again and again); a few, as the engine's, stay for longer. */
#define POWER_DOWN_NS (15 * NS_PER_S)

/* Whether a gap came and went with the key switch, as it was told, or may still go as the recording
 * ends; `play_ns`: by so much it may begin before that, the interval of a message. */
bool parting_with_key(const struct bus *bus, const struct dbr_spell *gap, int64_t play_ns);

/* When the key was turned off, where it was on again shortly before a moment, or was not yet: -1:
 * it was not turned. */
int64_t parting_key_off(const struct bus *bus, int64_t at_ns);

/* Whether a gap in what an ECU sent begins where it left this address for another one. */
bool parting_by_move(const struct ecu *ecu, const struct dbr_spell *gap);

/* Takes such silences from all ECUs; where they left an address is known from then on. */
void partings_drop(const struct addresses *a, struct ecus *ecus, const struct bus *buses);

#endif
