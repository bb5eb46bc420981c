/*
 * name.h - the 64-bit NAME by which an ECU claims its address.
 *
 * Source: ISO 11783-5 4.3, SAE J1939-81 4.1.1 (fields); ISO 11783-1 and J1939
 * appendix B (codes). The NAME travels least significant byte first. In a
 * contest for an address the numerically lower NAME wins (J1939-81 4.4.3).
 */
#ifndef DRAWBAR_NAME_H
#define DRAWBAR_NAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"

DBR_API_BEGIN

struct dbr_name_fields {
    uint32_t identity;             /* 21 bits: serial number by its maker */
    uint16_t manufacturer_code;    /* 11 bits; a number, never a company name */
    uint8_t ecu_instance;          /* 3 bits */
    uint8_t function_instance;     /* 5 bits */
    uint8_t function;              /* 8 bits; 255 not available */
    uint8_t device_class;          /* 7 bits; 127 not available */
    uint8_t device_class_instance; /* 4 bits */
    uint8_t industry_group;        /* 3 bits; 2 = agriculture and forestry */
    bool self_configurable;        /* may choose another address by itself */
};

#define DBR_INDUSTRY_GROUP_AGRICULTURE 2u
#define DBR_INDUSTRY_GROUP_MARINE 4u
#define DBR_DEVICE_CLASS_TRACTOR 1u

/* The NAME as a number, from its 8 bytes on the wire. */
uint64_t dbr_name_from_bytes(const uint8_t bytes[8]);

struct dbr_name_fields dbr_name_split(uint64_t name);

/*
 * The function in words ("tractor ECU", "rate control"), as it depends on
 * industry group and device class for codes from 128. NULL where the code is not
 * in our list. Static storage.
 */
const char *dbr_name_function_words(const struct dbr_name_fields *name);

/* "agriculture and forestry"; NULL for a reserved one. Static storage. */
const char *dbr_name_group_words(const struct dbr_name_fields *name);

/* The device class of industry group 2 in words ("fertilizers"), else NULL. Static storage. */
const char *dbr_name_class_words(const struct dbr_name_fields *name);

/*
 * The usual holder of an address in words ("engine #1", "task controller"), for
 * ECUs whose NAME was not seen: only a hint, since the NAME decides. NULL where
 * the address has no usual holder. Static storage.
 */
const char *dbr_address_words(uint8_t address);

/* An implement rather than a tractor or a display: industry group 2, a class of implement. */
bool dbr_name_is_implement(const struct dbr_name_fields *name);

DBR_API_END

#endif
