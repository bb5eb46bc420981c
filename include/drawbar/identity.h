/*
 * identity.h - what an ECU tells about itself: part, serial number, model, software, abilities.
 *
 * Six parameter groups, each sent on request, as a single frame or in several:
 *
 *     64965   ECU identification           ISO 11783-12, SAE J1939-71
 *     65259   component identification     SAE J1939-71, SPN 586, 587, 588, 233
 *     65242   software identification      SAE J1939-71, SPN 965, 234
 *     64653   product identification       ISO 11783-12; layout from memory
 *     64654   functionalities              ISO 11783-12; layout from memory
 *     126996  product information          NMEA 2000; layout from memory
 *
 * Texts come from whoever made the ECU: they are handed out as harmless UTF-8
 * without padding. A field that is empty or padding alone is not told: "".
 */
#ifndef DRAWBAR_IDENTITY_H
#define DRAWBAR_IDENTITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

#define DBR_PGN_ECU_IDENTIFICATION 64965u
#define DBR_PGN_COMPONENT_IDENTIFICATION 65259u
#define DBR_PGN_SOFTWARE_IDENTIFICATION 65242u
#define DBR_PGN_PRODUCT_IDENTIFICATION 64653u
#define DBR_PGN_FUNCTIONALITIES 64654u
#define DBR_PGN_PRODUCT_INFORMATION 126996u

enum dbr_told_group {
    DBR_TOLD_ECU,
    DBR_TOLD_COMPONENT,
    DBR_TOLD_SOFTWARE,
    DBR_TOLD_PRODUCT,
    DBR_TOLD_FUNCTIONALITIES,
    DBR_TOLD_INFORMATION, /* NMEA 2000 product information */
    DBR_TOLD_GROUPS
};

/* Places of the texts of each group but software, whose fields have no fixed meaning. */
enum { DBR_ECU_PART_NUMBER, DBR_ECU_SERIAL, DBR_ECU_LOCATION, DBR_ECU_TYPE, DBR_ECU_MAKER,
       DBR_ECU_HARDWARE };
enum { DBR_COMPONENT_MAKE, DBR_COMPONENT_MODEL, DBR_COMPONENT_SERIAL, DBR_COMPONENT_UNIT };
enum { DBR_PRODUCT_CODE, DBR_PRODUCT_BRAND, DBR_PRODUCT_MODEL };
enum { DBR_INFORMATION_MODEL, DBR_INFORMATION_SOFTWARE, DBR_INFORMATION_VERSION,
       DBR_INFORMATION_SERIAL };

/* A part of what an implement bus does that an ECU can do, and as server or client. */
struct dbr_functionality {
    uint8_t code;
    uint8_t generation; /* of the functionality's definition */
};

/* What one group told. */
struct dbr_told {
    size_t text_count; /* fields told, empty ones among them */
    char texts[DBR_TOLD_FIELDS_MAX][DBR_TOLD_TEXT_MAX];
    bool cut;          /* a text was longer than can be kept */
    uint64_t beyond;   /* fields and functionalities beyond those that are kept */
    size_t functionality_count;
    struct dbr_functionality functionalities[DBR_FUNCTIONALITIES_MAX];
    int32_t product_code; /* NMEA 2000, a number by the maker; -1: not told */
    int64_t first_ns;     /* when it was first told, by the tracking */
    int64_t changed_ns;   /* -1, or since when it tells otherwise than before: what is kept here */
};

/* Everything an ECU told, by its NAME wherever it moves; NULL: not told. */
struct dbr_identity {
    const struct dbr_told *told[DBR_TOLD_GROUPS];
    char designator[DBR_TOLD_TEXT_MAX]; /* from its device description; "" where it has none */
};

/* The group that a parameter group is, or DBR_TOLD_GROUPS. */
enum dbr_told_group dbr_told_group_of(uint32_t pgn);

/*
 * Reads the data of a whole message of one group. False where it tells nothing: too short,
 * or padding alone. Times are left alone.
 */
bool dbr_told_read(struct dbr_told *told, enum dbr_told_group group, const uint8_t *data,
                   size_t length);

/* Whether two messages of one group told the same. */
bool dbr_told_same(const struct dbr_told *a, const struct dbr_told *b);

/* A text of a group, NULL where it was not told. */
const char *dbr_identity_text(const struct dbr_identity *identity, enum dbr_told_group group,
                              size_t field);

/*
 * What it calls itself: the designator of its device description, else its model by product
 * identification or product information, else by component identification, else its type by
 * ECU identification. NULL where it told none. `identity` may be NULL.
 */
const char *dbr_identity_name(const struct dbr_identity *identity);

/* "task controller with sections (server)"; NULL for a code that we do not know. Static storage. */
const char *dbr_functionality_words(uint8_t code);

DBR_API_END

#endif
