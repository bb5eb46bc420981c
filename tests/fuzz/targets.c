/* targets.c - the table of fuzz targets, and how one ends the process. */
#include "fuzz/target.h"

#include <stdio.h>
#include <stdlib.h>

const struct fuzz_target *const fuzz_targets[] = {
    &text_target,
    &capture_target,
    &pcapng_target,
    &gzip_target,
    &json_target,
    &definitions_target,
    &rig_target,
    &transfers_target,
    &device_target,
    &check_target,
    &print_target,
    &cut_target,
};

const size_t fuzz_target_count = sizeof fuzz_targets / sizeof fuzz_targets[0];

void must_hold(bool holds, const char *condition, const char *file, int line)
{
    if (holds)
        return;
    fprintf(stderr, "FAIL: %s:%d: %s\n", file, line, condition);
    abort();
}

void must_not(const char *flaw, const char *file, int line)
{
    must_hold(flaw == NULL, flaw, file, line);
}
