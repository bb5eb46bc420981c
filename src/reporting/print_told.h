/*
 * print_told.h - what ECUs tell of themselves (drawbar/identity.h) as signals: a text each.
 *
 * Their fields end with a delimiter and have no fixed place, so that no definition holds them.
 */
#ifndef DRAWBAR_REPORTING_PRINT_TOLD_H
#define DRAWBAR_REPORTING_PRINT_TOLD_H

#include "reporting/print_lines.h"

/* Texts of one message, quoted; they last until the next. */
#define TOLD_SIGNALS_MAX DBR_FUNCTIONALITIES_MAX /* more than there are texts in any group */
#define TOLD_ROOM (DBR_TOLD_TEXT_MAX * QUOTE_GROWTH + QUOTE_MORE)
struct told_texts {
    struct dbr_told told;
    char text[TOLD_SIGNALS_MAX][TOLD_ROOM];
};
_Static_assert(DBR_TOLD_FIELDS_MAX <= TOLD_SIGNALS_MAX, "room for every field");

/*
 * Fills `signals` (room for TOLD_SIGNALS_MAX) with the fields of a whole message that are not
 * empty and wanted; returns their count, 0 for any other group. `*beyond`: fields that there was
 * no room for.
 */
size_t print_told_signals(struct shown_signal *signals, struct print_plans *plans,
                          struct told_texts *texts, const struct dbr_seen *seen,
                          uint64_t *beyond);

#endif
