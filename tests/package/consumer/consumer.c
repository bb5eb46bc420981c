/* What a program needs to find out what went wrong in a recording. Valid as C and as C++. */
#include <drawbar/drawbar.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    const char *path = argc > 1 ? argv[1] : "-";
    struct dbr_error error;
    struct dbr_analysis *a = dbr_analysis_new(&path, 1, NULL, &error);
    if (!a)
        return fprintf(stderr, "%s\n", error.text), 2;
    for (size_t i = 0; i < a->diagnosis->finding_count; i++)
        printf("%s: %s\n", dbr_severity_name(a->diagnosis->findings[i].severity),
               a->diagnosis->findings[i].title);
    dbr_analysis_free(a);
    return 0;
}
