/* printed.h - frames told in code, and the lines that the program prints of them. */
#ifndef TESTS_SUPPORT_PRINTED_H
#define TESTS_SUPPORT_PRINTED_H

#include <cjson/cJSON.h>

#include "drawbar/printing.h"

struct printed_as {
    const char *form;        /* "text", "csv", "ndjson" */
    const char *definitions; /* further ones, as text; NULL: none */
    const char *only, *column; /* one term each; NULL: none */
    bool fragments, timeless;
};

/* A 29-bit data frame on can0; data as hexadecimal digits. */
struct dbr_frame printed_frame(double at, uint32_t id, const char *hex);

/* What is printed of frames, to be freed. The end of the recording is its last frame. */
char *printed(const struct printed_as *as, const struct dbr_frame *frames, size_t count);

/* The one line of NDJSON of one frame, parsed; to be deleted. */
cJSON *printed_json(const char *definitions, const struct dbr_frame *frame);

/* The same of one message, whole, on interface can0. */
cJSON *printed_seen(const struct dbr_definitions *definitions, const struct dbr_seen *seen);

/* The signal of that name in a parsed line, or NULL. */
const cJSON *printed_signal(const cJSON *line, const char *name);

#endif
