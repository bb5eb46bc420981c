/* rigged.c - see rigged.h. */
#include "support/rigged.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct dbr_rig *rig_of_text(const char *text, char path[RIG_PATH_MAX], struct dbr_error *error)
{
    static const char pattern[] = "/tmp/drawbar-rig-XXXXXX";

    memcpy(path, pattern, sizeof pattern);
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    cr_assert_eq(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
    struct dbr_rig *rig = dbr_rig_load(path, error);
    unlink(path);
    return rig;
}
