/* kept.c - see kept.h. */
#include "support/kept.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

char *kept(char *text)
{
    const char *folder = getenv("DRAWBAR_KEEP");
    char path[1024];

    if (!folder || text[0] != '{')
        return text;
    snprintf(path, sizeof path, "%s/unit-XXXXXX", folder);
    int file = mkstemp(path);
    cr_assert_geq(file, 0, "%s", path);
    cr_assert_eq(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
    return text;
}
