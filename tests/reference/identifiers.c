/*
 * Identifiers, worked from the published fields.
 *
 * Source: SAE J1939-21 5.2, ISO 11783-3 5.2; field positions as in the Linux
 * kernel's documentation of J1939 (Documentation/networking/j1939.rst).
 */
#include <criterion/criterion.h>

#include "drawbar/can_id.h"

Test(reference_identifiers, worked_identifiers)
{
    static const struct {
        uint32_t id, pgn;
        uint8_t priority, source, destination;
        bool broadcast;
    } rows[] = {
        {0x0CFE48F0, 65096, 3, 0xF0, 255, true},   /* wheel-based speed, ISO 11783-7 */
        {0x18FEF100, 65265, 6, 0x00, 255, true},   /* cruise control and vehicle speed */
        {0x0CF02200, 61474, 3, 0x00, 255, true},   /* machine selected speed */
        {0x18EEFF80, 60928, 6, 0x80, 255, false},  /* address claimed, to everyone */
        {0x18EAFFFE, 59904, 6, 0xFE, 255, false},  /* request from a node without an address */
        {0x0CCBF780, 51968, 3, 0x80, 0xF7, false}, /* process data, to a task controller */
        {0x09F8021C, 129026, 2, 0x1C, 255, true},  /* NMEA 2000: data page 1 */
        {0x1DEFFF10, 126720, 7, 0x10, 255, false}, /* proprietary A2: data page 1, PDU1 */
        {0x00000000, 0, 0, 0x00, 0x00, false},
        {0x1FFFFFFF, 0x3FFFF, 7, 0xFF, 255, true},
        {0x00EF1234, 61184, 0, 0x34, 0x12, false}, /* the last PDU1 format, 239 */
        {0x00F01234, 61458, 0, 0x34, 255, true},   /* the first PDU2 format, 240 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_can_id parts = dbr_can_id_split(rows[i].id);
        cr_expect_eq(parts.pgn, rows[i].pgn, "%08X", rows[i].id);
        cr_expect_eq(parts.priority, rows[i].priority, "%08X", rows[i].id);
        cr_expect_eq(parts.source, rows[i].source, "%08X", rows[i].id);
        cr_expect_eq(parts.destination, rows[i].destination, "%08X", rows[i].id);
        cr_expect_eq(parts.broadcast, rows[i].broadcast, "%08X", rows[i].id);
        cr_expect_eq(dbr_can_id_join(&parts), rows[i].id, "%08X", rows[i].id);
    }
}

Test(reference_identifiers, bits_beyond_29_are_ignored)
{
    cr_expect_eq(dbr_can_id_split(0xE0000000 | 0x0CFE48F0).priority, 3);
    cr_expect_eq(dbr_can_id_split(0xE0000000 | 0x0CFE48F0).pgn, 65096);
}

/* J1939-21 5.2.3: the destination is part of the identifier in PDU1 alone. A group of PDU2 that a
 * connection brings to one destination keeps its number. */
Test(identifiers, a_destination_does_not_change_a_broadcast_group)
{
    struct dbr_can_id id = {.priority = 6, .pgn = 65251, .source = 0, .destination = 6};

    cr_expect_eq(dbr_can_id_join(&id), 0x18FEE300u);
    id.pgn = 59904;
    cr_expect_eq(dbr_can_id_join(&id), 0x18EA0600u);
}
