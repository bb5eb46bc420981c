/* rigged.h - a rig (drawbar/rig.h) from a text, by way of a file that is gone afterwards. */
#ifndef TESTS_SUPPORT_RIGGED_H
#define TESTS_SUPPORT_RIGGED_H

#include "drawbar/rig.h"

#define RIG_PATH_MAX 32u

/* NULL where it is refused: `error` says why, `path` which file it was. */
struct dbr_rig *rig_of_text(const char *text, char path[RIG_PATH_MAX], struct dbr_error *error);

#endif
