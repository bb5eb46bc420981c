/* ecus.c - see ecus.h. */
#include "farm/ecus.h"

const struct farm_ecu_design *const farm_designs[FARM_UNIT_COUNT] = {
    [FARM_UNIT_TRACTOR] = &farm_tractor_design,
    [FARM_UNIT_ENGINE] = &farm_engine_design,
    [FARM_UNIT_GNSS] = &farm_gnss_design,
    [FARM_UNIT_CONTROLLER] = &farm_controller_design,
    [FARM_UNIT_SPREADER] = &farm_spreader_design,
    [FARM_UNIT_WEIGHER] = &farm_weigher_design,
    [FARM_UNIT_LEFT_BOOM] = &farm_left_boom_design,
    [FARM_UNIT_RIGHT_BOOM] = &farm_right_boom_design,
    [FARM_UNIT_ADD_ON] = &farm_add_on_design,
    [FARM_UNIT_RECORDER] = &farm_recorder_design,
};
