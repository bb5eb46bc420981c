/* selection.h - whether a recording holds what --interface, --from and --to ask for. */
#ifndef DRAWBAR_COMMANDS_SELECTION_H
#define DRAWBAR_COMMANDS_SELECTION_H

#include "commands/options.h"
#include "drawbar/reading.h"

/* Before reading: 0, or -1 where the window can hold nothing, whatever the recording. */
int selection_possible(const struct option_values *values,
                       const struct dbr_reading_options *wanted, struct dbr_error *error);

/*
 * After reading: 0 where `frames` were found, else -1 with what the recording has
 * instead. -1 as well where it lacks the kind of time that the window is stated in.
 */
int selection_found(const struct option_values *values, const struct dbr_reading_options *wanted,
                    const struct dbr_recording_info *info, uint64_t frames,
                    struct dbr_error *error);

#endif
