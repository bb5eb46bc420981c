/* text_codes.h - the table of trouble codes in the summary; nothing where no ECU tells of any. */
#ifndef DRAWBAR_REPORTING_TEXT_CODES_H
#define DRAWBAR_REPORTING_TEXT_CODES_H

#include "drawbar/reporting.h"
#include "reporting/layout.h"

void text_codes(const struct layout *l, const struct dbr_report *r);

#endif
