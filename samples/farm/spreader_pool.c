/*
 * spreader_pool.c - what the spreader describes of itself (ISO 11783-10 annex A, version 4).
 *
 *     device 0 "Spreader"
 *         boom 1: work state, sections, axle speed, width      sections 4 to 9, each 4 m
 *         bins 2 and 3: rates, belt shafts, mass               weighing unit 10
 *
 * All texts are invented. Object ids are ours; they count up in the order below.
 */
#include <string.h>

#include "farm/ecus.h"
#include "farm/process_data.h"
#include "farm/simulation.h"

#define NONE 0xFFFFu

/* ISO 11783-10: types of elements; properties and triggers of process data. */
enum { DEVICE = 1, FUNCTION = 2, BIN = 3, SECTION = 4, UNIT = 5 };
enum { DEFAULT = 1, SETTABLE = 2 };
enum { BY_TIME = 1, ON_CHANGE = 8, TOTAL = 16 };

/* Object ids. */
enum { SPREADER = 1, BOOM = 2, BINS = 3, SECTIONS = 5, WEIGHER = 11, DATA = 20, PROPERTIES = 40,
       SHOWN = 60 };
enum { SHOWN_RATE = SHOWN, SHOWN_SPEED, SHOWN_SHAFT, SHOWN_LENGTH, SHOWN_MASS };

static const struct data {
    uint16_t ddi;
    uint8_t properties, triggers;
    const char *text;
    uint16_t shown;
} data[] = {
    /* of the boom */
    {FARM_DDI_WORK_STATE, DEFAULT, BY_TIME | ON_CHANGE, "Spreading", NONE},
    {FARM_DDI_WORK_STATE_SETPOINT, SETTABLE, ON_CHANGE, "Spread", NONE},
    {FARM_DDI_SECTION_CONTROL, SETTABLE, ON_CHANGE, "Section control", NONE},
    {FARM_DDI_SECTIONS, DEFAULT, BY_TIME | ON_CHANGE, "Sections", NONE},
    {FARM_DDI_SPEED, 0, BY_TIME, "Axle speed", SHOWN_SPEED},
    /* of each bin */
    {FARM_DDI_RATE_SETPOINT, SETTABLE, BY_TIME, "Rate asked for", SHOWN_RATE},
    {FARM_DDI_RATE_ACTUAL, DEFAULT, BY_TIME, "Rate", SHOWN_RATE},
    {FARM_DDI_SHAFT_SPEED_SETPOINT, 0, BY_TIME, "Belt shaft asked for", SHOWN_SHAFT},
    {FARM_DDI_SHAFT_SPEED, 0, BY_TIME, "Belt shaft", SHOWN_SHAFT},
    {FARM_DDI_TOTAL_MASS, DEFAULT, TOTAL, "Spread so far", SHOWN_MASS},
};

#define BOOM_DATA 5u

/* ISO 11783-11: working width, offsets to the back and to the right (mm), capacity (g). */
static const struct property {
    uint16_t ddi;
    int32_t value;
    const char *text;
    uint16_t shown;
} properties[] = {
    {67, 24000, "Boom width", SHOWN_LENGTH}, {134, -4300, "Boom behind hitch", SHOWN_LENGTH},
    {138, 1800000, "Bin holds", NONE},       {67, 4000, "Section width", SHOWN_LENGTH},
    {135, -10000, "Sideways", SHOWN_LENGTH}, {135, -6000, "Sideways", SHOWN_LENGTH},
    {135, -2000, "Sideways", SHOWN_LENGTH},  {135, 2000, "Sideways", SHOWN_LENGTH},
    {135, 6000, "Sideways", SHOWN_LENGTH},   {135, 10000, "Sideways", SHOWN_LENGTH},
};

enum { BOOM_WIDTH, BOOM_BEHIND, BIN_HOLDS, SECTION_WIDTH, FIRST_SIDEWAYS };

static const struct shown {
    float scale;
    uint8_t decimals;
    const char *unit;
} shown[] = {{0.01f, 1, "kg/ha"}, {0.0036f, 1, "km/h"}, {0.0001f, 1, "1/min"}, {0.001f, 2, "m"},
             {1.0f, 0, "kg"}};

static void add(struct farm_sending *out, const void *bytes, size_t count)
{
    if (out->length + count > sizeof out->data)
        return; /* never: a test parses all of it */
    memcpy(out->data + out->length, bytes, count);
    out->length += count;
}

static void add8(struct farm_sending *out, unsigned value)
{
    uint8_t byte = (uint8_t)value;
    add(out, &byte, 1);
}

static void add16(struct farm_sending *out, uint32_t value)
{
    uint8_t bytes[2];

    farm_put16(bytes, value);
    add(out, bytes, sizeof bytes);
}

static void add32(struct farm_sending *out, uint32_t value)
{
    uint8_t bytes[4];

    farm_put32(bytes, value);
    add(out, bytes, sizeof bytes);
}

static void add_text(struct farm_sending *out, const char *text)
{
    add8(out, (unsigned)strlen(text));
    add(out, text, strlen(text));
}

static void begin(struct farm_sending *out, const char *tag, uint32_t id)
{
    add(out, tag, 3);
    add16(out, id);
}

static void add_device(struct farm_sending *out)
{
    static const uint8_t structure[] = {FARM_STRUCTURE_LABEL};
    static const uint8_t localization[] = {FARM_LANGUAGE_BYTES, 0xFF};
    uint8_t name[8];

    begin(out, "DVC", 0);
    add_text(out, "Granule spreader");
    add_text(out, "2.3.1");
    farm_put64(name, farm_name_number(&farm_spreader_design.name));
    add(out, name, sizeof name);
    add_text(out, "4071");
    add(out, structure, sizeof structure);
    add(out, localization, sizeof localization);
    add8(out, 0); /* no extended structure label */
}

static void begin_element(struct farm_sending *out, uint32_t id, unsigned type, const char *text,
                          uint32_t number, uint32_t parent, uint32_t references)
{
    begin(out, "DET", id);
    add8(out, type);
    add_text(out, text);
    add16(out, number);
    add16(out, parent);
    add16(out, references);
}

static void add_range(struct farm_sending *out, uint32_t first, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++)
        add16(out, first + i);
}

static void add_elements(struct farm_sending *out)
{
    static const char *const bins[FARM_BINS] = {"Front bin", "Rear bin"};
    static const char *const sections[] = {"Left outer",  "Left middle",  "Left inner",
                                           "Right inner", "Right middle", "Right outer"};
    const uint32_t bin_data = sizeof data / sizeof *data - BOOM_DATA;

    _Static_assert(sizeof sections / sizeof *sections == FARM_BOOMS * FARM_BOOM_SECTIONS,
                   "a name for each section");
    begin_element(out, SPREADER, DEVICE, "Spreader", FARM_ELEMENT_DEVICE, 0, 0);
    begin_element(out, BOOM, FUNCTION, "Boom", FARM_ELEMENT_BOOM, SPREADER, BOOM_DATA + 2);
    add_range(out, DATA, BOOM_DATA);
    add_range(out, PROPERTIES + BOOM_WIDTH, 2);
    for (uint32_t i = 0; i < FARM_BINS; i++) {
        begin_element(out, BINS + i, BIN, bins[i], FARM_ELEMENT_BIN + i, SPREADER, bin_data + 1);
        add_range(out, DATA + BOOM_DATA, bin_data);
        add16(out, PROPERTIES + BIN_HOLDS);
    }
    for (uint32_t i = 0; i < FARM_BOOMS * FARM_BOOM_SECTIONS; i++) {
        begin_element(out, SECTIONS + i, SECTION, sections[i], FARM_ELEMENT_SECTION + i, BOOM, 2);
        add16(out, PROPERTIES + SECTION_WIDTH);
        add16(out, PROPERTIES + FIRST_SIDEWAYS + i);
    }
    begin_element(out, WEIGHER, UNIT, "Weighing unit", FARM_ELEMENT_WEIGHER, SPREADER, 0);
}

static void add_data(struct farm_sending *out, uint32_t id, const struct data *d)
{
    begin(out, "DPD", id);
    add16(out, d->ddi);
    add8(out, d->properties);
    add8(out, d->triggers);
    add_text(out, d->text);
    add16(out, d->shown);
}

static void add_property(struct farm_sending *out, uint32_t id, const struct property *p)
{
    begin(out, "DPT", id);
    add16(out, p->ddi);
    add32(out, (uint32_t)p->value);
    add_text(out, p->text);
    add16(out, p->shown);
}

static void add_shown(struct farm_sending *out, uint32_t id, const struct shown *s)
{
    uint32_t bits;

    memcpy(&bits, &s->scale, sizeof bits); /* IEEE 754 single */
    begin(out, "DVP", id);
    add32(out, 0);
    add32(out, bits);
    add8(out, s->decimals);
    add_text(out, s->unit);
}

void farm_spreader_pool(struct farm_sending *out)
{
    add_device(out);
    add_elements(out);
    for (size_t i = 0; i < sizeof data / sizeof *data; i++)
        add_data(out, (uint32_t)(DATA + i), &data[i]);
    for (size_t i = 0; i < sizeof properties / sizeof *properties; i++)
        add_property(out, (uint32_t)(PROPERTIES + i), &properties[i]);
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++)
        add_shown(out, (uint32_t)(SHOWN + i), &shown[i]);
}
