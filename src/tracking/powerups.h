/*
 * powerups.h - pauses in which a bus had no power: whoever comes back claims anew.
 */
#ifndef DRAWBAR_TRACKING_POWERUPS_H
#define DRAWBAR_TRACKING_POWERUPS_H

#include "tracking/ecus.h"

/* Marks them, and adds each to the turns of the key of its bus, from the moment at which the first
 * of its ECUs went down; `buses`: DBR_INTERFACES_MAX. */
void powerups_find(const struct ecus *ecus, struct bus *buses);

/* Marks those pauses of all buses in which one had no power. */
void powerups_explain(const struct bus *buses, struct dbr_spells *pauses);

#endif
