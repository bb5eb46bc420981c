/*
 * tell.h - what an ECU tells of itself when it is asked: software, identification.
 *
 * Asked as everyone is, it answers everyone: in one frame where that is enough, else as a
 * broadcast in several (BAM, SAE J1939-21 5.10).
 */
#ifndef FARM_TELL_H
#define FARM_TELL_H

#include "farm/ecu.h"

/* Hears a frame, and answers where it is such a request. */
void farm_tell_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame);

#endif
