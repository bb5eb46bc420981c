/*
 * print_troubles.h - DM1 and DM2 as signals: four lamps, and one for each trouble code.
 *
 * A definition has a fixed place for each signal; a list of codes has not.
 */
#ifndef DRAWBAR_REPORTING_PRINT_TROUBLES_H
#define DRAWBAR_REPORTING_PRINT_TROUBLES_H

#include "drawbar/trouble_code.h"
#include "reporting/print_lines.h"

/* "Active trouble codes", ...: the name of a group that is such a list; NULL: it is none. */
const char *print_trouble_group(uint32_t pgn);

/* Texts of one message, quoted; they last until the next. */
#define TROUBLE_CODES_MAX ((1785u - 2u) / 4u) /* in the longest message of J1939-21 */
#define TROUBLE_TEXT_MAX 256u
struct trouble_texts {
    char text[TROUBLE_CODES_MAX][TROUBLE_TEXT_MAX * QUOTE_GROWTH + QUOTE_MORE];
};

/*
 * Fills `signals` (room for DBR_LAMPS and TROUBLE_CODES_MAX) with those of the list that are
 * wanted; returns how many. Codes beyond the longest message are left out: `*beyond` counts them.
 */
size_t print_trouble_signals(struct shown_signal *signals, struct print_plans *plans,
                             struct trouble_texts *texts, const struct dbr_seen *seen,
                             size_t *beyond);

#endif
