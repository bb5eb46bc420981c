/*
 * advice_codes.h - next checks for trouble codes: what an SPN and an FMI ask for.
 */
#ifndef DRAWBAR_DIAGNOSIS_ADVICE_CODES_H
#define DRAWBAR_DIAGNOSIS_ADVICE_CODES_H

#include <stdbool.h>

#include "drawbar/trouble_code.h"

extern const char *const check_code[];      /* whatever the code */
extern const char *const check_broadcast[]; /* somebody asked for silence */

/* The checks that fit a code best; ends with NULL. */
const char *const *advice_for_code(const struct dbr_trouble_code *code);

/* Failure modes that a wire, a plug or a supply brings about: voltage and current, FMI 3 to 6. */
bool fmi_is_electrical(uint8_t fmi);

/* Supply of an ECU or of its sensors; of these those of sensors. */
bool spn_is_supply(uint32_t spn);
bool spn_is_sensor_supply(uint32_t spn);

#endif
