/*
 * print_troubles.h - the codes of DM1 and DM2 as signals, one each; and what DM13 asks for.
 *
 * A definition has a fixed place for each signal; a list of codes has not. Its definition
 * tells the lamps.
 */
#ifndef DRAWBAR_REPORTING_PRINT_TROUBLES_H
#define DRAWBAR_REPORTING_PRINT_TROUBLES_H

#include "drawbar/trouble_code.h"
#include "reporting/print_lines.h"

/* Texts of one message, quoted; they last until the next. */
#define TROUBLE_CODES_MAX ((1785u - 2u) / 4u) /* in the longest message of J1939-21 */
#define TROUBLE_TEXT_MAX 256u
struct trouble_texts {
    char text[TROUBLE_CODES_MAX][TROUBLE_TEXT_MAX * QUOTE_GROWTH + QUOTE_MORE];
};

/* Whether a group is such a list. */
bool print_is_trouble_list(uint32_t pgn);

/*
 * Fills `signals` (room for TROUBLE_CODES_MAX) with the codes that are wanted; returns how
 * many. Codes beyond the longest message are left out: `*beyond` counts them.
 */
size_t print_trouble_codes(struct shown_signal *signals, struct print_plans *plans,
                           struct trouble_texts *texts, const struct dbr_seen *seen,
                           size_t *beyond);

/* What a DM13 asks of the bus, where it asks anything; how many signals that makes. */
size_t print_broadcast_order(struct shown_signal *signal, struct print_plans *plans,
                             struct trouble_texts *texts, const struct dbr_seen *seen);

#endif
