/*
 * pool.h - device descriptions, built byte by byte.
 *
 * Written from the layouts of ISO 11783-10 annex A, not from the reader under test.
 */
#ifndef TESTS_SUPPORT_POOL_H
#define TESTS_SUPPORT_POOL_H

#include "support/bytes.h"

struct pool_device {
    const char *designator, *software, *serial;
    uint64_t name;
    const char *structure;    /* 7 bytes */
    const char *localization; /* 7 bytes */
    const char *extended;     /* NULL: the layout before version 4 */
};

void pool_text(struct bytes *b, const char *text); /* its length, and its bytes */
void pool_device(struct bytes *b, const struct pool_device *d);
void pool_element(struct bytes *b, uint16_t id, uint8_t type, const char *name, uint16_t number,
                  uint16_t parent, const uint16_t *references, size_t count);
void pool_data(struct bytes *b, uint16_t id, uint16_t ddi, uint8_t properties, uint8_t triggers,
               const char *name, uint16_t presentation);
void pool_property(struct bytes *b, uint16_t id, uint16_t ddi, int32_t value, const char *name,
                   uint16_t presentation);
void pool_presentation(struct bytes *b, uint16_t id, int32_t add, float scale, uint8_t decimals,
                       const char *unit);

/*
 * An invented spreader: device element 0; boom 1 with sections 5 and 6 of 12 m; bins 3
 * "Left belt" and 4 "Right belt" with set-point and actual rate in kg/ha; the work state at
 * the boom. `extended` as in struct pool_device.
 */
#define POOL_SPREADER_OBJECTS 17u
void pool_spreader(struct bytes *b, const char *extended);

#endif
