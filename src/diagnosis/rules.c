/*
 * rules.c - the codes that the program can find, in one table.
 *
 * To add one: state it in the contract (code, severity, when); write a judge that
 * reads the history and adds findings with figures; add a row here with checks
 * and cautions (advice.c); say in causes.c what explains it. Every code needs a
 * recording that fires it, a near miss, and one that cannot tell
 * (tests/unit/diagnosis).
 */
#include "diagnosis/rules.h"

#include "diagnosis/advice.h"
#include "diagnosis/advice_codes.h"

const struct rule rules[] = {
    {"bus-off", DBR_FAULT, GROUP_BUS, judge_bus_off, check_bus_off, caution_machine},
    {"bus-error-passive", DBR_WARNING, GROUP_BUS, judge_bus_error_passive, check_bus_errors,
     caution_machine},
    {"bus-error-warning", DBR_NOTE, GROUP_BUS, judge_bus_error_warning, check_bus_errors,
     caution_machine},
    {"bus-error-burst", DBR_WARNING, GROUP_BUS, judge_bus_error_burst, check_bus_errors,
     caution_machine},
    {"bus-no-acknowledge", DBR_WARNING, GROUP_BUS, judge_bus_no_acknowledge, check_acknowledge,
     caution_machine},
    {"bus-load-high", DBR_WARNING, GROUP_BUS, judge_bus_load_high, check_load, caution_none},
    {"bus-foreign-frames", DBR_NOTE, GROUP_BUS, judge_bus_foreign_frames, check_foreign,
     caution_none},

    {"address-conflict", DBR_FAULT, GROUP_ADDRESS, judge_address_conflict, check_conflict,
     caution_machine},
    {"address-cannot-claim", DBR_FAULT, GROUP_ADDRESS, judge_address_cannot_claim,
     check_cannot_claim, caution_machine},
    {"address-shared", DBR_FAULT, GROUP_ADDRESS, judge_address_shared, check_conflict,
     caution_machine},
    {"address-unclaimed", DBR_WARNING, GROUP_ADDRESS, judge_address_unclaimed, check_unclaimed,
     caution_machine},
    {"name-duplicate", DBR_FAULT, GROUP_ADDRESS, judge_name_duplicate, check_duplicate,
     caution_machine},

    {"broadcast-stopped", DBR_WARNING, GROUP_ECU, judge_broadcast_stopped, check_broadcast,
     caution_none},
    {"harness-section-silent", DBR_FAULT, GROUP_ECU, judge_harness_section_silent, check_section,
     caution_machine},
    {"bus-off-suspected", DBR_FAULT, GROUP_ECU, judge_bus_off_suspected, check_bus_off_suspected,
     caution_machine},
    {"ecu-silent", DBR_FAULT, GROUP_ECU, judge_ecu_silent, check_ecu_silent, caution_machine},
    {"ecu-missing", DBR_FAULT, GROUP_ECU, judge_ecu_missing, check_ecu_silent, caution_machine},
    {"ecu-restart", DBR_WARNING, GROUP_ECU, judge_ecu_restart, check_restart, caution_electric},
    {"message-gaps", DBR_WARNING, GROUP_ECU, judge_message_gaps, check_gaps, caution_machine},

    {"supply-low", DBR_FAULT, GROUP_SUPPLY, judge_supply_low, check_supply, caution_electric},

    {"speed-missing", DBR_FAULT, GROUP_SPEED, judge_speed_missing, check_speed_missing,
     caution_driving},
    {"speed-lost", DBR_FAULT, GROUP_SPEED, judge_speed_lost, check_speed_message,
     caution_machine},
    {"speed-error", DBR_FAULT, GROUP_SPEED, judge_speed_error, check_speed_sensor,
     caution_machine},
    {"speed-not-available", DBR_FAULT, GROUP_SPEED, judge_speed_not_available,
     check_speed_sensor, caution_machine},
    {"speed-stuck-zero", DBR_FAULT, GROUP_SPEED, judge_speed_stuck_zero, check_speed_sensor,
     caution_machine},
    {"speed-frozen", DBR_FAULT, GROUP_SPEED, judge_speed_frozen, check_speed_message,
     caution_machine},
    {"speed-erratic", DBR_FAULT, GROUP_SPEED, judge_speed_erratic, check_speed_erratic,
     caution_machine},
    {"speed-disagrees", DBR_WARNING, GROUP_SPEED, judge_speed_disagrees, check_scale,
     caution_driving},
    {"distance-disagrees", DBR_WARNING, GROUP_SPEED, judge_distance_disagrees, check_distance,
     caution_driving},
    {"direction-disagrees", DBR_WARNING, GROUP_SPEED, judge_direction_disagrees, check_direction,
     caution_driving},
    {"speed-source-changed", DBR_NOTE, GROUP_SPEED, judge_speed_source_changed, check_selection,
     caution_none},

    {"controller-lost", DBR_FAULT, GROUP_CONTROLLER, judge_controller_lost, check_controller,
     caution_machine},
    {"description-refused", DBR_WARNING, GROUP_CONTROLLER, judge_description_refused,
     check_description, caution_none},
    {"rate-missing", DBR_FAULT, GROUP_WORK, judge_rate_missing, check_rate, caution_meters},
    {"coverage-missing", DBR_FAULT, GROUP_WORK, judge_coverage_missing, check_coverage,
     caution_meters},

    {"fault-code-active", DBR_WARNING, GROUP_CODES, judge_fault_code_active, check_code,
     caution_machine},
    {"transfer-failed", DBR_WARNING, GROUP_TRANSFER, judge_transfer_failed, check_transfer,
     caution_machine},

    {"recording-rejected", DBR_WARNING, GROUP_RECORDING, judge_recording_rejected,
     check_rejected, caution_none},
    {"recording-truncated", DBR_WARNING, GROUP_RECORDING, judge_recording_truncated,
     check_rejected, caution_none},
    {"recording-clock-step", DBR_WARNING, GROUP_RECORDING, judge_recording_clock_step,
     check_clock, caution_none},
    {"recording-gap", DBR_WARNING, GROUP_RECORDING, judge_recording_gap, check_recorder,
     caution_none},
    {"recording-no-error-frames", DBR_NOTE, GROUP_RECORDING, judge_recording_no_error_frames,
     check_error_frames, caution_none},
};

const size_t rule_count = sizeof rules / sizeof rules[0];
