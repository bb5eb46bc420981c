/* name.c - see drawbar/name.h. */
#include "drawbar/name.h"

uint64_t dbr_name_from_bytes(const uint8_t bytes[8])
{
    uint64_t name = 0;

    for (unsigned i = 8; i-- > 0;)
        name = name << 8 | bytes[i];
    return name;
}

static uint32_t field(uint64_t name, unsigned first_bit, unsigned width)
{
    return (uint32_t)(name >> first_bit & ((UINT64_C(1) << width) - 1));
}

/* Positions: ISO 11783-5 4.3, SAE J1939-81 4.1.1; bit 0 is the least significant. */
struct dbr_name_fields dbr_name_split(uint64_t name)
{
    return (struct dbr_name_fields){
        .identity = field(name, 0, 21),
        .manufacturer_code = (uint16_t)field(name, 21, 11),
        .ecu_instance = (uint8_t)field(name, 32, 3),
        .function_instance = (uint8_t)field(name, 35, 5),
        .function = (uint8_t)field(name, 40, 8),
        .device_class = (uint8_t)field(name, 49, 7),
        .device_class_instance = (uint8_t)field(name, 56, 4),
        .industry_group = (uint8_t)field(name, 60, 3),
        .self_configurable = field(name, 63, 1) != 0,
    };
}

/* Classes of industry group 2 that are no implement: not specific, tractor, sensor systems,
 * utility vehicles. */
bool dbr_name_is_implement(const struct dbr_name_fields *name)
{
    switch (name->device_class) {
    case 0:
    case DBR_DEVICE_CLASS_TRACTOR:
    case 17:
    case 24:
    case 127:
        return false;
    default:
        return name->industry_group == DBR_INDUSTRY_GROUP_AGRICULTURE;
    }
}
