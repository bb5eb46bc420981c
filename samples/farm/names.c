/* names.c - see names.h. */
#include "farm/names.h"

#define MANUFACTURER_CODE 2047u /* all ones: not assigned to a company */

uint64_t farm_name_number(const struct farm_name *name)
{
    return (uint64_t)name->self_configurable << 63 | (uint64_t)name->industry_group << 60 |
           (uint64_t)name->device_class << 49 | (uint64_t)name->function << 40 |
           (uint64_t)name->function_instance << 35 | (uint64_t)MANUFACTURER_CODE << 21 |
           name->identity;
}
