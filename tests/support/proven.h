/* proven.h - the worked examples of a message, worked again. */
#ifndef TESTS_SUPPORT_PROVEN_H
#define TESTS_SUPPORT_PROVEN_H

#include "drawbar/definitions.h"

/* 0 where all agree, to half a step of the signal; else -1 with what was expected and found. */
int message_prove(const struct dbr_message *message, struct dbr_error *error);

#endif
