/* ecus.h - the designs of all ECUs. To add one: a file ecu_*.c, a unit, a row in ecus.c. */
#ifndef FARM_ECUS_H
#define FARM_ECUS_H

#include "farm/ecu.h"

extern const struct farm_ecu_design farm_tractor_design;
extern const struct farm_ecu_design farm_engine_design;
extern const struct farm_ecu_design farm_gnss_design;
extern const struct farm_ecu_design farm_controller_design;
extern const struct farm_ecu_design farm_spreader_design;
extern const struct farm_ecu_design farm_weigher_design;
extern const struct farm_ecu_design farm_left_boom_design;
extern const struct farm_ecu_design farm_right_boom_design;
extern const struct farm_ecu_design farm_add_on_design;
extern const struct farm_ecu_design farm_recorder_design;

/* By unit. */
extern const struct farm_ecu_design *const farm_designs[FARM_UNIT_COUNT];

#endif
