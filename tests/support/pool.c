/* pool.c - see pool.h. */
#include "support/pool.h"

#include <string.h>

void pool_text(struct bytes *b, const char *text)
{
    bytes_integer(b, strlen(text), 1);
    bytes_add(b, text, strlen(text));
}

static void begin(struct bytes *b, const char *tag, uint16_t id)
{
    bytes_add(b, tag, 3);
    bytes_integer(b, id, 2);
}

void pool_device(struct bytes *b, const struct pool_device *d)
{
    begin(b, "DVC", 0);
    pool_text(b, d->designator);
    pool_text(b, d->software);
    bytes_integer(b, d->name, 8);
    pool_text(b, d->serial);
    bytes_add(b, d->structure, 7);
    bytes_add(b, d->localization, 7);
    if (d->extended)
        pool_text(b, d->extended);
}

void pool_element(struct bytes *b, uint16_t id, uint8_t type, const char *name, uint16_t number,
                  uint16_t parent, const uint16_t *references, size_t count)
{
    begin(b, "DET", id);
    bytes_integer(b, type, 1);
    pool_text(b, name);
    bytes_integer(b, number, 2);
    bytes_integer(b, parent, 2);
    bytes_integer(b, count, 2);
    for (size_t i = 0; i < count; i++)
        bytes_integer(b, references[i], 2);
}

void pool_data(struct bytes *b, uint16_t id, uint16_t ddi, uint8_t properties, uint8_t triggers,
               const char *name, uint16_t presentation)
{
    begin(b, "DPD", id);
    bytes_integer(b, ddi, 2);
    bytes_integer(b, properties, 1);
    bytes_integer(b, triggers, 1);
    pool_text(b, name);
    bytes_integer(b, presentation, 2);
}

void pool_property(struct bytes *b, uint16_t id, uint16_t ddi, int32_t value, const char *name,
                   uint16_t presentation)
{
    begin(b, "DPT", id);
    bytes_integer(b, ddi, 2);
    bytes_integer(b, (uint32_t)value, 4);
    pool_text(b, name);
    bytes_integer(b, presentation, 2);
}

void pool_presentation(struct bytes *b, uint16_t id, int32_t add, float scale, uint8_t decimals,
                       const char *unit)
{
    uint32_t bits;

    memcpy(&bits, &scale, sizeof bits);
    begin(b, "DVP", id);
    bytes_integer(b, (uint32_t)add, 4);
    bytes_integer(b, bits, 4);
    bytes_integer(b, decimals, 1);
    pool_text(b, unit);
}

void pool_spreader(struct bytes *b, const char *extended)
{
    static const uint16_t none = 0xFFFF, of_boom[] = {20}, of_bin[] = {21, 22},
                          of_left[] = {30, 31}, of_right[] = {30, 32};

    pool_device(b, &(struct pool_device){"Granule spreader", "1.4.2", "2101",
                                         UINT64_C(0xA00A8000FFE00002), "GS24-07",
                                         "en\x4F\x04\x00\x00\xFF", extended});
    pool_element(b, 1, 1, "Spreader", 0, 0, NULL, 0);
    pool_element(b, 2, 2, "Boom", 1, 1, of_boom, 1);
    pool_element(b, 3, 3, "Left belt", 3, 1, of_bin, 2);
    pool_element(b, 4, 3, "Right belt", 4, 1, of_bin, 2);
    pool_element(b, 5, 4, "Left boom", 5, 2, of_left, 2);
    pool_element(b, 6, 4, "Right boom", 6, 2, of_right, 2);
    pool_data(b, 20, 141, 1, 8, "Work state", none);
    pool_data(b, 21, 6, 2, 8, "Rate asked for", 40);
    pool_data(b, 22, 7, 1, 9, "Rate", 40);
    pool_property(b, 30, 67, 12000, "Width", 41);
    pool_property(b, 31, 135, -6000, "To the left", none);
    pool_property(b, 32, 135, 6000, "To the right", none);
    pool_presentation(b, 40, 0, 0.01f, 1, "kg/ha");
    pool_presentation(b, 41, 0, 0.001f, 2, "m");
    pool_data(b, 50, 74, 0, 0, "Content left", none);
    pool_data(b, 51, 57400, 4, 16, "Own value", none);
}
