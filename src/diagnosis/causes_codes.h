/*
 * causes_codes.h - how trouble codes and other findings belong together, by what a code says.
 * That both are of one bus and of one time is for the caller to ask.
 */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_CODES_H
#define DRAWBAR_DIAGNOSIS_CAUSES_CODES_H

#include "diagnosis/findings.h"

/* The code says that messages of the ECU are missing that the other finding is about. */
bool code_misses(const struct found *code, const struct found *about);

/* The code says that a supply is low. */
bool code_says_supply_low(const struct found *code);

/* The ECU that sends a dead speed names the electrical fault of its sensor. */
bool code_tells_why(const struct found *code, const struct found *speed);

/* The code repeats that a speed is lacking: its sender without an electrical word for it, or a
 * receiver that misses the message or gets an error in it. */
bool code_repeats(const struct found *code, const struct found *speed);

/* The ECU that sends a dead speed has an electrical code whose number only its maker knows: it may
 * be about that speed, and whether it is nobody else can tell. */
bool code_may_tell_why(const struct found *code, const struct found *speed);

/* Whom an order to stop broadcasting is for. */
bool order_is_for(const struct found *order, const struct found *silent);

#endif
