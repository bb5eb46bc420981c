/* definitions_once.h - the built-in definitions, loaded by the first who asks and kept. */
#ifndef TESTS_FUZZ_DEFINITIONS_ONCE_H
#define TESTS_FUZZ_DEFINITIONS_ONCE_H

#include "drawbar/definitions.h"

const struct dbr_definitions *definitions_once(void);

#endif
