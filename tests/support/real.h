/* real.h - real recordings by others, which stay outside the repository. */
#ifndef TESTS_SUPPORT_REAL_H
#define TESTS_SUPPORT_REAL_H

#include <stddef.h>

#include "support/bytes.h"

/* The path of a recording by its name below $DRAWBAR_DATA, or ../shared/data of the project. Where
 * it is absent the running test is skipped, and says so. */
void real_path(char *path, size_t size, const char *name);

/* Its content; released by bytes_free. */
struct bytes real_content(const char *name);

#endif
