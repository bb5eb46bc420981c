/*
 * written.h - frames as a recording in memory, in any form that the library writes.
 */
#ifndef TESTS_FUZZ_WRITTEN_H
#define TESTS_FUZZ_WRITTEN_H

#include "drawbar/writing.h"
#include "fuzz/memory_file.h"

/* Names for the interfaces of packed frames, PACKED_INTERFACES of them. */
extern const char *const written_names[];

/* Writes all of the frames, which the form must be able to hold. */
void written_put(struct memory_file *file, const struct dbr_writing_options *options,
                 const struct dbr_frame *frames, size_t count);

#endif
