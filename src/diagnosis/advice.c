/*
 * advice.c - see advice.h.
 *
 * Sources of the values: 60 ohm between CAN_H and CAN_L with all power off is two
 * 120 ohm terminators in parallel, 120 ohm one, near 0 a short (workshop
 * literature; ISO 11898-2 for the terminator); the test holds for passive
 * terminators only, not for the powered ones of ISO 11783-2. About 2.5 V on both
 * lines at rest, supply 12.5 to 14.8 V during work: common practice, no source.
 * All else is common practice, no source.
 */
#include "diagnosis/advice.h"

#include <stddef.h>
#include <string.h>

const char *const check_speed_sensor[] = {
    "look at the sensor, its target and its cable: damage, mud, a gap that is too wide, a loose "
    "bracket",
    "wiggle the connector with the speed display in view: does a value appear?",
    "open the connector: corrosion, bent or pushed-back pins",
    "measure the supply at the sensor's connector, plugged in and key on: none means a break or a "
    "blown fuse before it, not a bad sensor",
    "turn the wheel or the target by hand and measure whether the signal line changes",
    "follow a repaired cable: colour to colour through every splice and plug",
    "check play in the wheel bearing: the target may rub the sensor or move away from it",
    "swap the sensor last",
    NULL};

const char *const check_speed_missing[] = {
    "look in the tractor's settings whether it is to send speed to the implement",
    "look which speed source the implement is set to, and whether that source exists here",
    "check that tractor and implement cable are connected, and record again while driving",
    NULL};

const char *const check_speed_message[] = {
    "look whether the ECU that sends it still works otherwise: display, lamps, other messages",
    "look at the sensor's cable and connector near the place where it stopped",
    "check fuse and supply of the ECU that sends it",
    "read the ECU's own trouble codes",
    NULL};

const char *const check_speed_erratic[] = {
    "look at the sensor's gap and target: missing teeth, a loose bracket, play in the bearing",
    "wiggle cable and connector with the speed display in view",
    "look where the sensor's cable runs: beside ignition, alternator or radio cables it picks up "
    "noise",
    "check the shield and the ground of the sensor's cable",
    NULL};

const char *const check_scale[] = {
    "look up tyre size and calibration value in the settings of the source that is off",
    "check tyre pressure and wear",
    "drive a measured course of 100 m or more on firm ground, both ways, and compare",
    "enter the corrected calibration value, and drive the course once more",
    NULL};

const char *const check_distance[] = {
    "look up calibration values: speed and distance may be scaled separately",
    "look for a software update of the ECU that sends them",
    NULL};

const char *const check_direction[] = {
    "look at the direction switch or lever, and its setting",
    "check which way the ground speed sensor is mounted",
    "drive a few metres forward and backward, and compare the display",
    NULL};

const char *const check_selection[] = {
    "ask the operator whether the speed source was changed by hand",
    "check the source that was left: it may have failed",
    NULL};

const char *const check_conflict[] = {
    "ask what was added or swapped lately: the newcomer is usually the last part that was fitted",
    "unplug one of the two and start again with the key",
    "look up whether one of them can be given another address or function instance",
    "let the maker's service set the address of the one that lost",
    NULL};

const char *const check_cannot_claim[] = {
    "find the ECU with this NAME: it works on its own, but nobody hears it",
    "unplug the ECU that took its address, and start again with the key",
    "look up whether the address can be set",
    NULL};

const char *const check_unclaimed[] = {
    "find out which unit uses this address; an old or simple one may know no address claims",
    "unplug it and see whether the trouble goes away",
    NULL};

const char *const check_duplicate[] = {
    "look for two units of the same kind with the same serial or instance setting",
    "unplug one of them, and let the function instance of the other be set",
    NULL};

const char *const check_restart[] = {
    "look at the supply of this ECU: fuse, relay, connector, ground strap",
    "wiggle its connector and cable: does it restart?",
    "measure its supply with the loads switched on: below about 10 V ECUs reset",
    "read the ECU's own trouble codes",
    NULL};

const char *const check_ecu_silent[] = {
    "look whether the ECU has power: lamp, fuse, relay",
    "look at its connector: locked, dry, no bent pins",
    "wiggle the cable towards it",
    "measure its supply at its connector, key on",
    "measure its bus lines there: both about 2.5 V while the bus is at rest",
    "swap the ECU last",
    NULL};

const char *const check_section[] = {
    "look for what these ECUs share: one cable, one connector, one fuse, one ground",
    "look along that cable at folds, hitches and pinch points",
    "wiggle the shared connector with the display in view",
    "measure the supply behind the shared connector, key on",
    "with all power off and passive terminators fitted, measure between CAN_H and CAN_L: about 60 "
    "ohm; 120 ohm means a break between you and one terminator",
    NULL};

const char *const check_bus_off_suspected[] = {
    "look at this ECU's connector and the cable to it: water, chafing",
    "wiggle the cable and watch the error frames",
    "with all power off and passive terminators fitted, measure between CAN_H and CAN_L: about 60 "
    "ohm",
    "measure CAN_H and CAN_L to ground: both about 2.5 V while the bus is at rest",
    NULL};

const char *const check_gaps[] = {
    "look at the connector and the cable of the sender",
    "compare with other messages of the same sender: all of them, or one?",
    "check the load of the bus",
    NULL};

const char *const check_supply[] = {
    "look at battery terminals, ground straps and main fuses",
    "measure the battery: engine off about 12.5 V, running 13.2 to 14.8 V",
    "check belt and output of the alternator",
    "measure the drop along the supply cable under load",
    NULL};

const char *const check_bus_off[] = {
    "look at the recorder's own cable and plug first: it may be alone in its trouble",
    "check that the recorder is set to the bit rate of the bus, 250 kbit/s",
    "with all power off and passive terminators fitted, measure between CAN_H and CAN_L: about 60 "
    "ohm, 120 means one terminator missing, near 0 a short",
    "measure CAN_H and CAN_L to ground: both about 2.5 V while the bus is at rest",
    "unplug one section after the other until the errors stop",
    NULL};

const char *const check_bus_errors[] = {
    "look along the cable for water, chafing, pinched places and open covers",
    "with all power off and passive terminators fitted, measure between CAN_H and CAN_L: about 60 "
    "ohm, 120 means one terminator missing, near 0 a short",
    "measure CAN_H and CAN_L to ground: both about 2.5 V while the bus is at rest",
    "unplug one section after the other until the errors stop",
    NULL};

const char *const check_acknowledge[] = {
    "check that the recorder and at least one ECU are connected and have power",
    "check that the recorder is allowed to acknowledge (not in listen-only mode)",
    "look for a break in the cable between recorder and ECUs",
    NULL};

const char *const check_load[] = {
    "look in the list of messages who sends most, and what was added lately",
    "look for an ECU that repeats itself without reason",
    NULL};

const char *const check_foreign[] = {
    "find out whether the recorder was on the bus that you meant",
    "look for a unit that does not belong on this bus",
    NULL};

const char *const check_controller[] = {
    "look whether the task controller is switched on, licensed and set to this implement",
    "look at the display: does it show the implement as connected?",
    "look at the connector and supply of the task controller",
    "switch off and on with the key, wait half a minute, and look again",
    NULL};

const char *const check_rate[] = {
    "look at the display: master switch, sections, product, a set-point above zero",
    "look whether the drive of the meters is engaged: PTO, hydraulics, clutch",
    "look into the bin and at the outlets: empty, bridged, blocked",
    "see whether the meters turn when they should; if they do, look at their sensors",
    "measure supply and signal at the meter's motor or valve, key on",
    NULL};

const char *const check_description[] = {
    "look at the controller's screen: is the implement in its list, and does it say why not?",
    "look whether the controller has room for it: old implements in its list, full memory",
    "have the controller forget what it has stored of this implement, switch off and on with the "
    "key, and record from the start",
    "connect the implement to another task controller: does that one take it?",
    "let the maker's service look for a software update of the implement and of the controller",
    NULL};

const char *const check_coverage[] = {
    "look at the settings of the implement: what switches its work state on (lift sensor, section, "
    "rate)?",
    "look at the lift or work sensor: gap, cable, setting",
    "look whether section control has switched it off because the ground is covered already",
    NULL};

const char *const check_transfer[] = {
    "look whether both ECUs are on, and whether the receiver knows this message at all",
    "switch off and on with the key, and record from the start: does it fail again?",
    "record with a second recorder: one that loses frames makes sound transfers look broken",
    "look at the load of the bus and at error frames at that time",
    "unplug what speaks under an address that is not its own, testers and bridges first",
    "let the maker's service look for a software update of the two",
    NULL};

const char *const check_rejected[] = {
    "look at the places named; copy the recording again from where it was made",
    NULL};

const char *const check_clock[] = {
    "set the recorder's clock before recording, and do not let it be set meanwhile",
    NULL};

const char *const check_recorder[] = {
    "check supply and storage of the recorder, and record again",
    NULL};

const char *const check_power[] = {
    "was the key turned, or the battery switched off, at that time? Then nothing is wrong",
    "else look at battery terminals, main switch, ground straps and main fuses",
    NULL};

const char *const check_error_frames[] = {
    "switch error frames on in the recorder for the next recording",
    NULL};

const char *const caution_none[] = {NULL};

const char *const caution_machine[] = {
    "shut the machine down, take the key out, lower the implement and block it before reaching in",
    "let hydraulic pressure off and wait until belts, fans and wheels stand still",
    "the maker's manual and local rules go first; leave what they reserve to qualified people",
    NULL};

const char *const caution_driving[] = {
    "drive test courses away from people and roads, and nobody rides on the implement",
    "shut the machine down and take the key out before working on it",
    "the maker's manual and local rules go first; leave what they reserve to qualified people",
    NULL};

const char *const caution_electric[] = {
    "take rings off and keep tools away from the battery's poles: a short burns",
    "disconnect the battery in the order that the manual gives before working on main cables",
    "shut the machine down, take the key out, lower the implement and block it before reaching in",
    "the maker's manual and local rules go first; leave what they reserve to qualified people",
    NULL};

const char *const caution_meters[] = {
    "meters, belts, fans and discs may start by themselves: shut the machine down and take the key "
    "out before reaching in",
    "lower the implement and block it, and let hydraulic pressure off",
    "the maker's manual and local rules go first; leave what they reserve to qualified people",
    NULL};

static const char *const check_radar[] = {
    "look at the ground speed sensor: mud or crop on its face, a bent bracket, its angle",
    "look whether it is chosen as the source and calibrated in the tractor's settings",
    "open its connector: corrosion, bent or pushed-back pins",
    "measure its supply at the connector, key on",
    "swap the sensor last",
    NULL};

static const char *const check_satellites[] = {
    "look at the antenna: does it see the sky, is its plug tight?",
    "look at the receiver's display: satellites, correction, position valid?",
    "look whether the receiver is set to send speed to this bus",
    "measure the receiver's supply, key on",
    "swap antenna and receiver last",
    NULL};

static const char *const check_tractor_wheel[] = {
    "look at the tractor's own speed display: does it show the same?",
    "read the trouble codes of transmission and tractor ECU",
    "look at the sensor at gearbox or axle: damage, its plug, its cable",
    "measure its supply at the connector, key on",
    "swap the sensor last",
    NULL};

static const struct advice rows[] = {
    {"speed-stuck-zero", CONTEXT_RADAR, check_radar, NULL},
    {"speed-error", CONTEXT_RADAR, check_radar, NULL},
    {"speed-not-available", CONTEXT_RADAR, check_radar, NULL},
    {"speed-stuck-zero", CONTEXT_SATELLITES, check_satellites, NULL},
    {"speed-error", CONTEXT_SATELLITES, check_satellites, NULL},
    {"speed-not-available", CONTEXT_SATELLITES, check_satellites, NULL},
    {"speed-lost", CONTEXT_SATELLITES, check_satellites, NULL},
    {"speed-frozen", CONTEXT_SATELLITES, check_satellites, NULL},
    {"speed-stuck-zero", CONTEXT_WHEEL, check_tractor_wheel, NULL},
    {"speed-error", CONTEXT_WHEEL, check_tractor_wheel, NULL},
    {"speed-not-available", CONTEXT_WHEEL, check_tractor_wheel, NULL},
    {"ecu-silent", CONTEXT_IMPLEMENT, check_ecu_silent, caution_meters},
    {"ecu-restart", CONTEXT_IMPLEMENT, check_restart, caution_meters},
    {"speed-stuck-zero", CONTEXT_IMPLEMENT, check_speed_sensor, caution_meters},
    {"speed-lost", CONTEXT_IMPLEMENT, check_speed_message, caution_meters},
};

const struct advice *advice_find(const char *code, enum advice_context context)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].context == context && strcmp(rows[i].code, code) == 0)
            return &rows[i];
    return NULL;
}
