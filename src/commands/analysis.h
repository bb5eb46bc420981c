/*
 * analysis.h - what commands that read recordings share: their options, and the way from files to
 * findings.
 */
#ifndef DRAWBAR_COMMANDS_ANALYSIS_H
#define DRAWBAR_COMMANDS_ANALYSIS_H

#include "commands/options.h"
#include "drawbar/analysis.h"
#include "drawbar/reporting.h"

/* What the command line asks for. Options that a command does not have keep their defaults. */
struct request {
    const struct option_values *values; /* as given, for words about them */
    struct dbr_reading_options reading;
    struct dbr_tracking_options tracking;
    enum dbr_units units;
    const char *definitions;
    const struct dbr_definitions *loaded; /* drawbar/analysis.h; NULL */
    const char *rig;
    const char *json;
    const char *html;
    bool quiet;
    bool color;
};

/* What is made on the way to a report. */
struct analysis {
    struct dbr_analysis *made;
    struct dbr_closeups *closeups; /* second_pass.h */
    struct dbr_report report;
};

/* 0, or -1 after it complained. */
int request_read(const struct option_values *values, struct request *r);

/*
 * The index of an option's value among `words` (ended by NULL, at most three); the first is the
 * default. -1 after it complained.
 */
int request_word(const struct option_values *values, const char *name, const char *const *words);

/* --threads: 1 or 2; without it 2 where there are two cores. 0, or -1 after it complained. */
int request_threads(const struct option_values *values, struct request *r);

/* What would go wrong only after a long reading, or go wrong unnoticed: 0, or -1. */
int request_check(const struct request *r, const char *const *paths, size_t count,
                  struct dbr_error *error);

/* Reads, tracks, judges. Release with analysis_release, also after failure. */
int analysis_run(struct analysis *a, const struct request *r, const char *const *paths,
                 size_t count, struct dbr_error *error);
void analysis_release(struct analysis *a);

#endif
