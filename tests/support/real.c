/* real.c - see real.h. */
#include "support/real.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>

void real_path(char *path, size_t size, const char *name)
{
    const char *named = getenv("DRAWBAR_DATA");

    snprintf(path, size, "%s/%s", named ? named : SOURCE_DIRECTORY "/../shared/data", name);
    FILE *file = fopen(path, "rb");
    if (!file) {
        fprintf(stderr, "SKIPPED: no real recordings here: %s\n", path);
        cr_skip_test("no real recordings here: %s", path);
    }
    fclose(file);
}

struct bytes real_content(const char *name)
{
    struct bytes content = {0};
    char path[1024], part[65536];
    size_t got;

    real_path(path, sizeof path, name);
    FILE *file = fopen(path, "rb");
    while ((got = fread(part, 1, sizeof part, file)) > 0)
        bytes_add(&content, part, got);
    fclose(file);
    return content;
}
