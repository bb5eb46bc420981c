/*
 * causes_conditions.h - when a finding that could explain another one does.
 *
 * Effects and causes have the codes that the table (causes.c) gives to the condition: the first
 * is always the effect.
 */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_CONDITIONS_H
#define DRAWBAR_DIAGNOSIS_CAUSES_CONDITIONS_H

#include "diagnosis/findings.h"

typedef bool condition(const struct findings *f, const struct found *effect,
                       const struct found *cause);

/* At about one time: anywhere (the recording's own gaps belong to no bus), on one bus, under one
 * address. */
condition at_same_time, on_same_bus, same_ecu;

/* The same on one bus, and the cause began before, or with it: what follows has gone on for a
 * while when it is found. */
condition chain_cause;

/* Addresses: who lost one is silent under it from then on, or has none. */
condition lost_address, lost_contest;

/* Harness and bus: one of a section; not heard while the recorder was off the bus; silent from an
 * order to stop broadcasting on, and no longer than it held; errors that ended as an ECU left. */
condition in_section, unheard, ordered, drove_off;

/* Transfers: about one of the two; one of them was not there to answer; requests of addresses that
 * nobody holds. */
condition one_of_both, did_not_answer, section_did_not_answer, made_up;

/* Speed: the selected one follows its source (SPN 4308); two findings about one source; one that
 * was gone as often as its ECU started anew, and no more often. */
condition selects, same_source, restarted;

/* Trouble codes: about messages that failed to come, about the supply, about a speed. */
condition misses, supply_says, sender_says_why, says_it_again;

/* The chain: the speed that an implement lives by, itself or its controller silent, process data
 * that nobody asks for any more; a controller that lost its address, or started again; an implement
 * whose controller is lost. */
condition controller_contested, controller_came_back, without_controller;
condition speed_of_implement, silent_implement, controller_silent, asked_for;

#endif
