/*
 * text_identity.h - the lines below an ECU in the table: what it told about itself.
 */
#ifndef DRAWBAR_REPORTING_TEXT_IDENTITY_H
#define DRAWBAR_REPORTING_TEXT_IDENTITY_H

#include "drawbar/reporting.h"
#include "reporting/layout.h"

/* Nothing where it told nothing and belongs to nobody's working set. */
void text_identity(const struct layout *l, const struct dbr_history *h, const struct dbr_ecu *ecu);

#endif
