/*
 * names.h - NAMEs and addresses of the ECUs.
 *
 * Fields: ISO 11783-5 4.3. Every NAME bears manufacturer code 2047, which is no
 * assigned company, and industry group 2 (agriculture), but for the recorder's
 * (off-board service tool: group 0).
 */
#ifndef FARM_NAMES_H
#define FARM_NAMES_H

#include <stdbool.h>
#include <stdint.h>

/* Addresses; those without a comment are in the range for implements, 128..235. */
#define FARM_ENGINE_ADDRESS     0u  /* engine #1 */
#define FARM_GNSS_ADDRESS       28u /* vehicle navigation */
#define FARM_SPREADER_ADDRESS   128u
#define FARM_WEIGHER_ADDRESS    131u
#define FARM_LEFT_BOOM_ADDRESS  140u
#define FARM_RIGHT_BOOM_ADDRESS 141u
#define FARM_TRACTOR_ADDRESS    240u /* tractor ECU, preferred address of group 2 */
#define FARM_CONTROLLER_ADDRESS 247u /* task controller, preferred address of group 2 */
#define FARM_RECORDER_ADDRESS   249u /* off-board service tool 1 */

struct farm_name {
    uint8_t industry_group;
    uint8_t device_class;
    uint8_t function;
    uint8_t function_instance;
    uint32_t identity;
    bool self_configurable;
};

/* The NAME as the number that decides a contest: the lower one wins. */
uint64_t farm_name_number(const struct farm_name *name);

#endif
