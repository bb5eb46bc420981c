/*
 * ddi.c - see drawbar/ddi.h.
 *
 * Numbers, units and resolutions are those of ISO 11783-11, the names are ours. A
 * test compares them with a published export of the dictionary (tests/reference/ddi).
 *
 * To add one: put it where its number belongs; a test checks the order.
 */
#include "drawbar/ddi.h"

#define SOURCE "ISO 11783-11"

#define ROW(number, name, unit, resolution) {number, name, unit, resolution, SOURCE}

/* Most quantities have these five in a row. */
#define FIVE(first, quantity, unit, resolution)                                                    \
    ROW(first, "set-point " quantity, unit, resolution),                                           \
        ROW((first) + 1, "actual " quantity, unit, resolution),                                    \
        ROW((first) + 2, "default " quantity, unit, resolution),                                   \
        ROW((first) + 3, "minimum " quantity, unit, resolution),                                   \
        ROW((first) + 4, "maximum " quantity, unit, resolution)

/* Or, without a default, these four. */
#define FOUR(first, quantity, unit, resolution)                                                    \
    ROW(first, "set-point " quantity, unit, resolution),                                           \
        ROW((first) + 1, "actual " quantity, unit, resolution),                                    \
        ROW((first) + 2, "minimum " quantity, unit, resolution),                                   \
        ROW((first) + 3, "maximum " quantity, unit, resolution)

/* States of sections, two bits each, sixteen in a value; the leftmost in the lowest bits. */
#define LATER_SECTIONS(second, states)                                                             \
    ROW(second, states ", sections 17 to 32", "", 1),                                              \
        ROW((second) + 1, states ", sections 33 to 48", "", 1),                                    \
        ROW((second) + 2, states ", sections 49 to 64", "", 1),                                    \
        ROW((second) + 3, states ", sections 65 to 80", "", 1),                                    \
        ROW((second) + 4, states ", sections 81 to 96", "", 1),                                    \
        ROW((second) + 5, states ", sections 97 to 112", "", 1),                                   \
        ROW((second) + 6, states ", sections 113 to 128", "", 1),                                  \
        ROW((second) + 7, states ", sections 129 to 144", "", 1),                                  \
        ROW((second) + 8, states ", sections 145 to 160", "", 1),                                  \
        ROW((second) + 9, states ", sections 161 to 176", "", 1),                                  \
        ROW((second) + 10, states ", sections 177 to 192", "", 1),                                 \
        ROW((second) + 11, states ", sections 193 to 208", "", 1),                                 \
        ROW((second) + 12, states ", sections 209 to 224", "", 1),                                 \
        ROW((second) + 13, states ", sections 225 to 240", "", 1),                                 \
        ROW((second) + 14, states ", sections 241 to 256", "", 1)

#define SECTIONS(first, states)                                                                    \
    ROW(first, states ", sections 1 to 16", "", 1), LATER_SECTIONS((first) + 1, states)

static const struct dbr_ddi rows[] = {
    ROW(0, "data dictionary version", "", 1),
    FIVE(1, "volume per area", "mm3/m2", 0.01),
    FIVE(6, "mass per area", "mg/m2", 1),
    FIVE(11, "count per area", "1/m2", 0.001),
    FIVE(16, "spacing", "mm", 1),
    FIVE(21, "volume per volume", "mm3/m3", 1),
    FIVE(26, "mass per mass", "mg/kg", 1),
    FIVE(31, "volume per mass", "mm3/kg", 1),
    FIVE(36, "volume per time", "mm3/s", 1),
    FIVE(41, "mass per time", "mg/s", 1),
    FIVE(46, "count per time", "1/s", 0.001),
    FIVE(51, "tillage depth", "mm", 1),
    FIVE(56, "seeding depth", "mm", 1),
    FIVE(61, "working height", "mm", 1),
    FIVE(66, "working width", "mm", 1),
    ROW(71, "set-point volume content", "ml", 1),
    ROW(72, "actual volume content", "ml", 1),
    ROW(73, "maximum volume content", "ml", 1),
    ROW(74, "set-point mass content", "g", 1),
    ROW(75, "actual mass content", "g", 1),
    ROW(76, "maximum mass content", "g", 1),
    ROW(77, "set-point count content", "", 1),
    ROW(78, "actual count content", "", 1),
    ROW(79, "maximum count content", "", 1),
    ROW(80, "total volume applied", "L", 1),
    ROW(81, "total mass applied", "kg", 1),
    ROW(82, "total count applied", "", 1),
    ROW(116, "total area", "m2", 1),
    ROW(117, "total distance while working", "mm", 1),
    ROW(118, "total distance while not working", "mm", 1),
    ROW(119, "total time while working", "s", 1),
    ROW(120, "total time while not working", "s", 1),
    ROW(121, "product density, mass per volume", "mg/l", 1),
    ROW(122, "product density, mass per thousand", "mg/1000", 1),
    ROW(123, "product density, volume per thousand", "ml/1000", 1),
    ROW(134, "offset of the element forwards", "mm", 1),
    ROW(135, "offset of the element to the right", "mm", 1),
    ROW(136, "offset of the element in height", "mm", 1),
    ROW(137, "volume capacity", "ml", 1),
    ROW(138, "mass capacity", "g", 1),
    ROW(139, "count capacity", "", 1),
    ROW(140, "set-point percentage rate", "ppm", 1),
    ROW(141, "actual work state", "", 1),
    ROW(142, "delay from set-point to effect", "ms", 1),
    ROW(143, "delay from effect to actual value", "ms", 1),
    ROW(148, "total fuel consumption", "ml", 1),
    ROW(149, "fuel consumption per time", "mm3/s", 1),
    ROW(150, "fuel consumption per area", "mm3/m2", 1),
    ROW(151, "area per time", "mm2/s", 1),
    ROW(157, "type of connector", "", 1),
    ROW(158, "prescription control state", "", 1),
    ROW(159, "number of sub-units in a section", "", 1),
    ROW(160, "section control state", "", 1),
    SECTIONS(161, "actual work states"),
    FOUR(193, "product pressure", "Pa", 0.1),
    ROW(205, "section control turn-on time", "ms", 1),
    ROW(206, "section control turn-off time", "ms", 1),
    FOUR(225, "working length", "mm", 1),
    ROW(229, "actual net weight", "g", 1),
    ROW(230, "state of the net weight", "", 1),
    ROW(232, "actual gross weight", "g", 1),
    ROW(233, "state of the gross weight", "", 1),
    ROW(264, "offset of the connector's pivot", "mm", 1),
    ROW(265, "remaining area", "m2", 1),
    ROW(266, "lifetime total mass applied", "kg", 1),
    ROW(267, "lifetime total count applied", "", 1),
    ROW(271, "lifetime total area", "m2", 1),
    ROW(272, "lifetime distance while working", "m", 1),
    ROW(273, "lifetime distance while not working", "m", 1),
    ROW(274, "lifetime time while working", "s", 1),
    ROW(275, "lifetime time while not working", "s", 1),
    ROW(287, "set-point prescription mode", "", 1),
    ROW(288, "actual prescription mode", "", 1),
    ROW(289, "set-point work state", "", 1),
    SECTIONS(290, "set-point work states"),
    ROW(308, "actual percentage rate", "ppm", 1),
    ROW(309, "minimum percentage rate", "ppm", 1),
    ROW(310, "maximum percentage rate", "ppm", 1),
    ROW(325, "lifetime total volume applied", "L", 1),
    ROW(351, "total volume applied", "ml", 1),
    ROW(352, "total mass applied", "g", 1),
    ROW(365, "set-point downforce pressure", "Pa", 1),
    ROW(366, "actual downforce pressure", "Pa", 1),
    SECTIONS(367, "overridden"),
    ROW(387, "total revolutions, in fractions", "", 0.0001),
    ROW(388, "total revolutions, complete ones", "", 1),
    FIVE(389, "revolutions per time", "1/min", 0.0001),
    ROW(394, "fuel tank content", "ml", 1),
    ROW(395, "exhaust fluid tank content", "ml", 1),
    FOUR(396, "speed", "mm/s", 1),
    ROW(400, "speed source", "", 1),
    ROW(415, "actual seed singulation", "ppm", 1),
    ROW(416, "average seed singulation", "ppm", 1),
    ROW(417, "actual share of seeds skipped", "ppm", 1),
    ROW(418, "average share of seeds skipped", "ppm", 1),
    ROW(419, "actual share of multiple seeds", "ppm", 1),
    ROW(420, "average share of multiple seeds", "ppm", 1),
    ROW(421, "actual deviation of seed spacing", "mm", 1),
    ROW(422, "average deviation of seed spacing", "mm", 1),
    ROW(423, "actual variation of seed spacing", "ppm", 1),
    ROW(424, "average variation of seed spacing", "ppm", 1),
    ROW(426, "set-point downforce", "N", 1),
    ROW(427, "actual downforce", "N", 1),
    ROW(467, "actual percentage content", "%", 0.01),
    FOUR(483, "engine speed", "1/min", 0.0001),
    ROW(505, "tramline control level", "", 1),
    ROW(506, "set-point tramline control level", "", 1),
    ROW(507, "tramline sequence number", "", 1),
    ROW(508, "identity of the guidance line", "", 1),
    ROW(509, "actual track number", "", 1),
    ROW(510, "track number to the right", "", 1),
    ROW(511, "track number to the left", "", 1),
    ROW(512, "swath width of the guidance line", "mm", 1),
    ROW(513, "deviation from the guidance line", "mm", 1),
    ROW(514, "GNSS quality", "", 1),
    ROW(515, "tramline control state", "", 1),
    ROW(516, "tramline overdosing rate", "ppm", 1),
    ROW(517, "set-point tramline states, sections 1 to 16", "", 1),
    ROW(518, "actual tramline states, sections 1 to 16", "", 1),
    /* Here the actual value stands before the set-point. */
    ROW(541, "actual PTO speed", "1/min", 0.0001),
    ROW(542, "set-point PTO speed", "1/min", 0.0001),
    ROW(543, "default PTO speed", "1/min", 0.0001),
    ROW(544, "minimum PTO speed", "1/min", 0.0001),
    ROW(545, "maximum PTO speed", "1/min", 0.0001),
    /* And here the default before the actual value. */
    ROW(562, "set-point voltage", "V", 0.001),
    ROW(563, "default voltage", "V", 0.001),
    ROW(564, "actual voltage", "V", 0.001),
    ROW(565, "minimum voltage", "V", 0.001),
    ROW(566, "maximum voltage", "V", 0.001),
    FOUR(578, "temperature", "mK", 1),
    ROW(582, "default temperature", "mK", 1),
    FOUR(588, "volume per area, coarse", "ml/m2", 0.1),
    ROW(592, "default volume per area, coarse", "ml/m2", 0.1),
    ROW(597, "total distance", "mm", 1),
    ROW(598, "lifetime total distance", "m", 1),
    ROW(599, "total distance in the field", "mm", 1),
    ROW(600, "lifetime total distance in the field", "m", 1),
    ROW(601, "total distance on the road", "mm", 1),
    ROW(602, "lifetime total distance on the road", "m", 1),
    LATER_SECTIONS(603, "actual tramline states"),
    LATER_SECTIONS(618, "set-point tramline states"),
    FIVE(633, "volume per distance", "ml/m", 0.001),
    ROW(656, "actual section control turn-on time", "ms", 1),
    ROW(657, "actual section control turn-off time", "ms", 1),
    ROW(57342, "data by parameter group number", "", 1),
    ROW(57343, "request for the default process data", "", 1),
};

#define ROW_COUNT (sizeof rows / sizeof rows[0])

const struct dbr_ddi *dbr_ddi_find(uint16_t number)
{
    size_t low = 0, high = ROW_COUNT;

    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (rows[middle].number == number)
            return &rows[middle];
        if (rows[middle].number < number)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}

bool dbr_ddi_is_proprietary(uint16_t number)
{
    return number >= DBR_DDI_PROPRIETARY_MIN && number <= DBR_DDI_PROPRIETARY_MAX;
}

size_t dbr_ddi_count(void)
{
    return ROW_COUNT;
}

const struct dbr_ddi *dbr_ddi_at(size_t index)
{
    return &rows[index];
}
