/*
 * account.h - what every reading of a recording owes, whoever reads it and in whatever batches.
 *
 * Both functions tell in words what is wrong, NULL where nothing is. They know no test
 * framework, so that unit tests and fuzz targets can both ask.
 */
#ifndef TESTS_SUPPORT_ACCOUNT_H
#define TESTS_SUPPORT_ACCOUNT_H

#include "drawbar/reading.h"

/* One reading, to its end or until it failed. */
struct account {
    int result; /* of the last call: 0, or -1 */
    enum dbr_error_code code;              /* counts where result is -1 */
    const struct dbr_recording_info *info; /* NULL where it could not be opened */
    const struct dbr_frame *frames;        /* all that were delivered */
    size_t count;
};

/* Whether records, rejections and frames add up and each frame is one that a bus can carry. */
const char *account_flaw(const struct account *account);

/* Whether two readings of the same contents gave the same. */
const char *account_difference(const struct account *a, const struct account *b);

#endif
