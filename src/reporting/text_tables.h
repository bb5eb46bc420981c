/* text_tables.h - ECUs, speed sources, buses and files as tables. */
#ifndef DRAWBAR_REPORTING_TEXT_TABLES_H
#define DRAWBAR_REPORTING_TEXT_TABLES_H

#include "drawbar/reporting.h"
#include "reporting/layout.h"

void text_tables(const struct layout *l, const struct dbr_report *r);

#endif
