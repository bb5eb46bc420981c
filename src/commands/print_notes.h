/* print_notes.h - what the lines of drawbar print do not show by themselves, on standard error. */
#ifndef DRAWBAR_COMMANDS_PRINT_NOTES_H
#define DRAWBAR_COMMANDS_PRINT_NOTES_H

#include "commands/options.h"
#include "drawbar/decoder.h"
#include "drawbar/reading.h"

/* A line for each thing worth knowing; none for a sound recording that was printed whole. */
void print_notes(const struct option_values *values, const struct dbr_recording_info *info,
                 const struct dbr_decoder *decoder, uint64_t lines);

/* What of the files was left out, and which of them end early. */
void note_files(const struct dbr_recording_info *info);

#endif
