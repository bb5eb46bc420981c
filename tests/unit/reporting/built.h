/* built.h - a report built by hand: a dead axle sensor and what follows from it, all unknowns. */
#ifndef TESTS_UNIT_REPORTING_BUILT_H
#define TESTS_UNIT_REPORTING_BUILT_H

#include <cjson/cJSON.h>

#include "drawbar/reporting.h"

/* Static storage; every test runs in a process of its own and may change it. */
extern struct dbr_recording_info built_info;
extern struct dbr_file_info built_files[1];
extern struct dbr_history built_history;
extern struct dbr_ecu built_ecus[2];
extern struct dbr_speed_source built_sources[1];
extern struct dbr_bus built_buses[1];
extern struct dbr_diagnosis built_diagnosis;
extern struct dbr_finding built_findings[4];
extern struct dbr_report built_report;

typedef int report_writer(FILE *out, const struct dbr_report *report, struct dbr_error *error);

/* What a report writes for built_report; the caller frees it. */
char *built_written(report_writer *write);

/* "a.0.b": member a, item 0, member b. NULL where there is none. */
cJSON *built_at(cJSON *item, const char *path);

#endif
