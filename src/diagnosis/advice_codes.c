/*
 * advice_codes.c - see advice_codes.h.
 *
 * What each failure mode means: SAE J1939-73 appendix A. The checks are common practice, no
 * source; values as in advice.c. A sensor's supply of 5 V: SPN 620 names it.
 */
#include "diagnosis/advice_codes.h"

#include <stddef.h>

const char *const check_code[] = {
    "look the code up in the maker's list: SPN and FMI name the part and the test for it",
    "write down all codes with their counts before anybody clears them",
    "look at the part that the SPN names, its plug and its cable",
    "clear the codes, switch off and on with the key, and see which ones come back and when",
    NULL};

const char *const check_broadcast[] = {
    "ask who was connected with a service tool, and what was being done",
    "unplug the tool, switch off and on with the key, and record again",
    NULL};

static const char *const check_voltage_high[] = {
    "look at the part that the SPN names: damage, its plug, where its cable runs along others",
    "wiggle plug and cable with the codes in view: does the code go away?",
    "open the plug: water, corrosion, bent or pushed-back pins, a ground pin without contact",
    "measure ground and supply at the plug, plugged off and key on: a missing ground, or more than "
    "the part's supply (often 5 V)",
    "measure the signal wire to the supply wire, key off and ECU unplugged: a short, or a break",
    "swap the part last",
    NULL};

static const char *const check_voltage_low[] = {
    "look at the part that the SPN names: is it plugged in? damage, chafed cable",
    "wiggle plug and cable with the codes in view: does the code go away?",
    "open the plug: water, corrosion, bent or pushed-back pins",
    "measure the supply at the plug, plugged off and key on (often 5 V): none means a break or a "
    "blown fuse before it, not a bad part",
    "measure the signal wire to ground, key off and ECU unplugged: a short, or a break",
    "swap the part last",
    NULL};

static const char *const check_open_circuit[] = {
    "look at the part that the SPN names: is it plugged in? torn or pinched cable",
    "wiggle plug and cable with the codes in view: does the code go away?",
    "open the plug: corrosion, spread or pushed-back pins",
    "measure the wires from the ECU's plug to the part end to end, key off and both unplugged: a "
    "break shows as no contact",
    "measure the resistance of the part, unplugged, against the maker's value",
    "swap the part last",
    NULL};

static const char *const check_current_high[] = {
    "look at the part that the SPN names: a jammed actuator, a chafed cable, water in the plug",
    "unplug the part: a code that stays points to the cable, one that changes to the part",
    "measure the wire to ground, key off and both ends unplugged: a short",
    "measure the resistance of the part, unplugged, against the maker's value",
    "swap the part last",
    NULL};

static const char *const check_signal[] = {
    "look at the sensor, its target and its gap: dirt, a loose bracket, missing teeth",
    "wiggle plug and cable with the value in view: does it jump?",
    "open the plug: corrosion, spread pins, water",
    "look where the cable runs: beside ignition, alternator or radio cables it picks up noise",
    "measure supply and ground at the plug, key on",
    "swap the sensor last",
    NULL};

static const char *const check_value[] = {
    "take it at its word first: look at the level, filter, temperature or pressure itself",
    "compare the value with a second gauge or the display",
    "look at the sensor, its plug and its cable",
    "swap the sensor last",
    NULL};

static const char *const check_network[] = {
    "look in this report whether the ECU at that address was heard, and since when not",
    "look whether that ECU has power: lamp, fuse, relay, a plug that was left off",
    "wiggle the cable towards it with the codes in view",
    "measure its supply at its connector, key on",
    "measure its bus lines there: both about 2.5 V while the bus is at rest",
    "swap that ECU last; the one that reports the code is seldom the bad one",
    NULL};

static const char *const check_update[] = {
    "find out which ECU sends this value, and look in this report whether it was heard",
    "look whether that ECU has power, and has trouble codes of its own",
    "look whether the value is switched on in the settings of the ECU that sends it",
    "check the bus between the two: connectors, and the load of the bus",
    NULL};

static const char *const check_supply_code[] = {
    "look at battery terminals, ground straps, main fuses and the key switch",
    "measure the battery: engine off about 12.5 V, running 13.2 to 14.8 V",
    "measure supply and ground at the plug of the ECU that reports it, loads switched on",
    "check belt and output of the alternator",
    NULL};

static const char *const check_sensor_supply[] = {
    "read the other codes of this ECU: a short on a shared supply brings up several at once",
    "look along the cables of the sensors on this supply: chafed, pinched, wet",
    "unplug the sensors on this supply one after the other until the code goes away: that one, or "
    "its cable, pulls it down",
    "measure the supply at a sensor's plug, key on: about 5 V where the maker says nothing else",
    "swap the ECU last",
    NULL};

static const char *const check_mechanical[] = {
    "look whether the part moves freely: jammed, frozen, broken linkage",
    "move it by hand or by its switch, with people away from it, and watch its position",
    "look at the plugs and cables of its actuator and its position sensor",
    "measure supply at the actuator while it is asked to move",
    "swap the actuator last",
    NULL};

static const char *const check_calibration[] = {
    "ask what was repaired, swapped or updated lately",
    "calibrate the part that the SPN names as the maker's manual says",
    "look at the part and its linkage: bent, loose, worn",
    NULL};

bool fmi_is_electrical(uint8_t fmi)
{
    return fmi >= 3 && fmi <= 6;
}

bool spn_is_sensor_supply(uint32_t spn)
{
    return spn == 620 || spn == 1079 || spn == 1080 || (spn >= 3509 && spn <= 3514);
}

bool spn_is_supply(uint32_t spn)
{
    return spn == 158 || spn == 167 || spn == 168 || spn == 627 || spn_is_sensor_supply(spn);
}

/* By FMI, SAE J1939-73 appendix A; those that are left out say little about what to check. */
static const char *const *const by_fmi[32] = {
    [0] = check_value,        [1] = check_value,         [2] = check_signal,
    [3] = check_voltage_high, [4] = check_voltage_low,   [5] = check_open_circuit,
    [6] = check_current_high, [7] = check_mechanical,    [8] = check_signal,
    [9] = check_update,       [10] = check_signal,       [13] = check_calibration,
    [15] = check_value,       [16] = check_value,        [17] = check_value,
    [18] = check_value,       [19] = check_update,       [20] = check_signal,
    [21] = check_signal,
};

const char *const *advice_for_code(const struct dbr_trouble_code *code)
{
    bool known = !code->older_layout;

    if (known && dbr_spn_is_address(code->spn))
        return check_network;
    if (known && spn_is_sensor_supply(code->spn))
        return check_sensor_supply;
    if (known && spn_is_supply(code->spn))
        return check_supply_code;
    const char *const *checks = by_fmi[code->fmi & 31u];
    return checks ? checks : check_code;
}
